import type { TrajectoryRow } from './trajectory-rows.js';

/** A column of the file: its name, and how its value is written. */
type CsvColumn = readonly [name: string, text: (row: TrajectoryRow) => string];

const number = (key: Exclude<keyof TrajectoryRow, 'solution'>, digits: number) => (row: TrajectoryRow) =>
  row[key].toFixed(digits);

/** The columns, named as on form 3 of the Korean rules for road maps (notice 2023-4338) as far as they are there; projected instead of geographic. */
const COLUMNS: readonly CsvColumn[] = [
  ['GPSTime', number('time', 6)],
  ['Easting', number('x', 4)],
  ['Northing', number('y', 4)],
  ['Height', number('z', 4)],
  ['Roll', number('roll', 5)],
  ['Pitch', number('pitch', 5)],
  ['Heading', number('heading', 5)],
  ['East SD', number('sigmaEast', 4)],
  ['North SD', number('sigmaNorth', 4)],
  ['Height SD', number('sigmaUp', 4)],
  ['Roll SD', number('sigmaRoll', 5)],
  ['Pitch SD', number('sigmaPitch', 5)],
  ['Heading SD', number('sigmaHeading', 5)],
  ['Ambiguities', ({ solution }) => solution],
  ['Num of GNSS', number('satellites', 0)],
  ['PDOP', number('pdop', 1)],
];

/**
 * A trajectory as CSV: header line, then a line for each row; metres to 0.1 mm, degrees to 0.00001, seconds to a microsecond.
 * @param names the columns to write; all where it is not given
 */
export function trajectoryCsv(rows: readonly TrajectoryRow[], names?: readonly string[]): string {
  const columns = COLUMNS.filter(([name]) => names === undefined || names.includes(name));
  const lines = rows.map((row) => columns.map(([, text]) => text(row)).join());
  return `${[columns.map(([name]) => name).join(), ...lines].join('\n')}\n`;
}
