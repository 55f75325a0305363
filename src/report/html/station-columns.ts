import { offsetWords } from '../wording.js';
import type { Cell, Column } from './html-table.js';

/** Columns of the place along the route, in tables of places. */
export const STATION_COLUMNS: readonly Column[] = [{ title: 'Station' }, { title: 'Offset' }];

/** The fields of these columns; sorted by station and by the size of the offset with its sign. */
export function stationCells(place: {
  line?: string;
  station?: number;
  stationLabel?: string;
  offset?: number;
}): Cell[] {
  const { line, station, stationLabel, offset } = place;
  if (stationLabel === undefined || station === undefined || offset === undefined) return [null, null];
  return [
    { text: line === undefined ? stationLabel : `${line} ${stationLabel}`, sort: station },
    { text: offsetWords(offset), sort: offset },
  ];
}
