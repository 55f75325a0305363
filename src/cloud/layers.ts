import { Fault } from '../fault.js';
import type { Column } from './columns.js';
import type { RecordLayout } from './records.js';

/** The layers of a chunk of formats 6 to 10, in file order, each with the column that needs it (null: always). */
function layerColumns(layout: RecordLayout): (Column | null)[] {
  const layers: (Column | null)[] = [
    null, // x, y, returns, scanner channel, and which of the others change
    'xyz', // z
    'classification',
    'flags',
    'intensity',
    'scanAngle',
    'userData',
    'pointSourceId',
    'gpsTime',
  ];
  if (layout.colour >= 0) layers.push('colour');
  if (layout.nir >= 0) layers.push('nir');
  if (layout.waveform >= 0) layers.push('waveform');
  for (let i = 0; i < layout.extraLength; i++) layers.push('extra');
  return layers;
}

/**
 * Copies a layered chunk without the layers nobody asked for; their sizes become zero, at which decoders repeat the
 * first point's value. Decoding gets up to half as fast again.
 * Layout (LASzip specification): first point as it is, number of points, one size a layer, then the layers.
 * @returns bytes written to `into`, which must have room for the whole chunk
 * @throws Fault laz-chunk-damaged when sizes or count do not add up
 */
export function copyLayers(
  chunk: Uint8Array,
  points: number,
  layout: RecordLayout,
  columns: ReadonlySet<Column>,
  into: Uint8Array,
  where: string,
): number {
  const layers = layerColumns(layout);
  const head = layout.recordLength + 4 + 4 * layers.length;
  const damaged = (what: string, found: number, expected: number) =>
    new Fault({
      code: 'laz-chunk-damaged',
      what: `a chunk of points is damaged: ${what}`,
      where,
      found,
      expected,
      advice: 'Copy the file again.',
    });
  if (chunk.length < head) throw damaged('it is shorter than its own head', chunk.length, head);
  const view = new DataView(chunk.buffer, chunk.byteOffset, chunk.byteLength);
  const count = view.getUint32(layout.recordLength, true);
  if (count !== points) throw damaged('it announces another number of points', count, points);
  let sum = head;
  for (let i = 0; i < layers.length; i++) sum += view.getUint32(layout.recordLength + 4 + 4 * i, true);
  if (sum !== chunk.length) throw damaged('its layers do not add up to its length', sum, chunk.length);

  into.set(chunk.subarray(0, head));
  let from = head;
  let to = head;
  for (let i = 0; i < layers.length; i++) {
    const sizeAt = layout.recordLength + 4 + 4 * i;
    const size = view.getUint32(sizeAt, true);
    const column = layers[i];
    if (column === null || columns.has(column)) {
      into.set(chunk.subarray(from, from + size), to);
      to += size;
    } else {
      into.fill(0, sizeAt, sizeAt + 4);
    }
    from += size;
  }
  return to;
}
