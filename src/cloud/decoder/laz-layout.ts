import { Fault } from '../../fault.js';
import type { Column } from '../columns.js';

/** One item of the LAZ parameters' list: a part of the point record that is compressed by itself. */
export interface LazItem {
  type: number;
  size: number;
  version: number;
}

/** What must be known of a LAZ file before its chunks can be decoded. */
export interface LazLayout {
  /** Point data record format, 0 to 10. */
  format: number;
  items: readonly LazItem[];
  recordLength: number;
  /** Bytes of a record beyond those of its format. */
  extraLength: number;
}

/** The layout in the decoder's terms. */
export interface DecoderLayout {
  layered: boolean;
  parts: number;
  extraLength: number;
  version: number;
  recordLength: number;
  /** Columns that the format has. */
  columns: ReadonlySet<Column>;
}

/** Most extra bytes a point that are decoded. */
const MOST_EXTRA_BYTES = 1024;

const Part = { gpsTime: 1, colour: 2, nir: 4, waveform: 8 } as const;

/** Item types by number; names and numbers as in LASzip, src/laszip.hpp. */
const ITEM_NAMES: Record<number, string> = {
  0: 'BYTE',
  6: 'POINT10',
  7: 'GPSTIME11',
  8: 'RGB12',
  9: 'WAVEPACKET13',
  10: 'POINT14',
  11: 'RGB14',
  12: 'RGBNIR14',
  13: 'WAVEPACKET14',
  14: 'BYTE14',
};

const POINT10 = { type: 6, size: 20 };
const GPSTIME11 = { type: 7, size: 8 };
const RGB12 = { type: 8, size: 6 };
const WAVEPACKET13 = { type: 9, size: 29 };
const POINT14 = { type: 10, size: 30 };
const RGB14 = { type: 11, size: 6 };
const RGBNIR14 = { type: 12, size: 8 };
const WAVEPACKET14 = { type: 13, size: 29 };
const TYPE_BYTE = 0;
const TYPE_BYTE14 = 14;

/** Items of each format, extra bytes aside. */
const ITEMS: readonly { type: number; size: number }[][] = [
  [POINT10],
  [POINT10, GPSTIME11],
  [POINT10, RGB12],
  [POINT10, GPSTIME11, RGB12],
  [POINT10, GPSTIME11, WAVEPACKET13],
  [POINT10, GPSTIME11, RGB12, WAVEPACKET13],
  [POINT14],
  [POINT14, RGB14],
  [POINT14, RGBNIR14],
  [POINT14, WAVEPACKET14],
  [POINT14, RGBNIR14, WAVEPACKET14],
];

const PARTS = [
  0,
  Part.gpsTime,
  Part.colour,
  Part.gpsTime | Part.colour,
  Part.gpsTime | Part.waveform,
  Part.gpsTime | Part.colour | Part.waveform,
  Part.gpsTime,
  Part.gpsTime | Part.colour,
  Part.gpsTime | Part.colour | Part.nir,
  Part.gpsTime | Part.waveform,
  Part.gpsTime | Part.colour | Part.nir | Part.waveform,
] as const;

const ALWAYS: readonly Column[] = [
  'xyz',
  'intensity',
  'returns',
  'flags',
  'classification',
  'scanAngle',
  'userData',
  'pointSourceId',
];

/**
 * Checks that the items are those of the point format, in versions the decoder knows: 1 or 2 for formats 0 to 5 (wave
 * packets: 1), 3 or 4 for formats 6 to 10, all items of a file the same.
 * @throws Fault `laz-items` when they are not.
 */
export function decoderLayoutOf(layout: LazLayout, where: string): DecoderLayout {
  const { format, items, recordLength, extraLength } = layout;
  const expected = ITEMS[format];
  if (expected === undefined)
    throw refusal('the point format is not one that can be compressed', where, format, '0 to 10');
  const layered = format > 5;
  const all = [...expected];
  if (extraLength > 0) all.push({ type: layered ? TYPE_BYTE14 : TYPE_BYTE, size: extraLength });
  const same =
    items.length === all.length && items.every((item, i) => item.type === all[i].type && item.size === all[i].size);
  if (!same) {
    throw refusal(`the compressed items do not make up a point of format ${format}`, where, words(items), words(all));
  }
  if (recordLength !== all.reduce((sum, item) => sum + item.size, 0)) {
    throw refusal('the compressed items do not add up to the record length', where, words(items), recordLength);
  }
  if (extraLength > MOST_EXTRA_BYTES) {
    throw refusal('more extra bytes a point than can be decoded', where, extraLength, `at most ${MOST_EXTRA_BYTES}`);
  }
  const version = items[0].version;
  const known = layered ? version === 3 || version === 4 : version === 1 || version === 2;
  const even = items.every((item) => item.version === (item.type === WAVEPACKET13.type ? 1 : version));
  if (!known || !even) {
    throw refusal(
      'the compressed items are in versions that cannot be decoded',
      where,
      versions(items),
      layered ? '3 or 4' : '1 or 2',
    );
  }
  const parts = PARTS[format];
  const columns = new Set<Column>(ALWAYS);
  if (layered) columns.add('scannerChannel');
  if (parts & Part.gpsTime) columns.add('gpsTime');
  if (parts & Part.colour) columns.add('colour');
  if (parts & Part.nir) columns.add('nir');
  if (parts & Part.waveform) columns.add('waveform');
  if (extraLength > 0) columns.add('extra');
  return { layered, parts, extraLength, version, recordLength, columns };
}

function words(items: readonly { type: number; size: number }[]): string {
  return items.map((item) => `${ITEM_NAMES[item.type] ?? `type ${item.type}`} of ${item.size} bytes`).join(', ');
}

function versions(items: readonly LazItem[]): string {
  return items.map((item) => `${ITEM_NAMES[item.type] ?? `type ${item.type}`} version ${item.version}`).join(', ');
}

function refusal(what: string, where: string, found: string | number, expected: string | number): Fault {
  return new Fault({
    code: 'laz-items',
    what,
    where,
    found,
    expected,
    advice: 'Write the file again with a current LAZ writer',
  });
}
