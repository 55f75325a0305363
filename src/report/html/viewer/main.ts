/// <reference lib="dom" />
import { startMap } from './controls.js';
import { startFlights } from './flights.js';
import { rewriteNumbers } from './numbers.js';
import { startPrinting } from './printing.js';
import { startTables } from './tables.js';

rewriteNumbers(document);
startTables();
const map = startMap();
if (map) startFlights(map);
startPrinting(map);
