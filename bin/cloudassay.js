#!/usr/bin/env node
import { main } from '../dist/src/cli/program.js';

process.exitCode = await main(process.argv.slice(2));
