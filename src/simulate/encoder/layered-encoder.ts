import { createSymbolModel } from './arithmetic-encoder.js';
import { createIntegerEncoder, modelTable } from './integer-encoder.js';
import { createItemEncoders, createLayer, type Layer, type LayeredVersion } from './item-encoders.js';
import type { RecordParts } from './record-parts.js';
import { createRunningMedian } from './running-median.js';
import { createTimeEncoder } from './time-encoder.js';

/** Kind of return by number of returns and return number, for formats 6 to 10 (0 to 15 each), valid or not. */
function kindOfReturn(n: number, r: number): number {
  const low = Math.min(n, r);
  const high = Math.max(n, r);
  if (low === 0) return [0, 1, 2, 3, 4, 5, 3, 4, 4][high] ?? 5;
  if (low === high) return [0, 0, 2][low] ?? 5;
  if (low === 1) return high === 2 ? 1 : 3;
  if (low === 2) return high < 11 ? 4 : 3;
  return low > 10 && high - low === 1 ? 5 : 4;
}

/**
 * Compresses points of formats 6 to 10: the first as it is, their number, sizes of the layers, the layers. Every
 * scanner channel has models and a last point of its own; a new one takes over the last point of the one before.
 */
export function encodeLayeredChunk(points: DataView, parts: RecordParts, version: LayeredVersion): Uint8Array {
  const { recordLength } = parts;
  const count = points.byteLength / recordLength;
  const core = Array.from({ length: 9 }, createLayer);
  const items = createItemEncoders(points, parts, version);
  const channels = new Map<number, ReturnType<typeof createChannel>>();
  const channelOf = (at: number) => (points.getUint8(at + 15) >> 4) & 3;

  let channel = channelOf(0);
  let context = createChannel(core, readPoint(points, 0));
  channels.set(channel, context);
  items.start(channel);
  for (let i = 1; i < count; i++) {
    const at = i * recordLength;
    const next = channelOf(at);
    let target = channels.get(next);
    // A channel not seen before is compared with the last point of the one before.
    const point = readPoint(points, at);
    const changes = context.writeChanges(point, next !== channel, (target ?? context).last());
    if (next !== channel) {
      context.writeChannel((next - channel + 4) % 4);
      if (target === undefined) {
        target = createChannel(core, context.last());
        channels.set(next, target);
      }
      context = target;
    }
    context.writePoint(point, changes);
    items.write(at, next, next !== channel);
    channel = next;
  }

  core[0].changed = true;
  core[1].changed = true;
  const layers = [...core, ...items.layers].map((layer) =>
    layer.changed ? layer.encoder.finish() : new Uint8Array(0),
  );
  const head = recordLength + 4 + 4 * layers.length;
  const chunk = new Uint8Array(layers.reduce((sum, layer) => sum + layer.length, head));
  const view = new DataView(chunk.buffer);
  chunk.set(new Uint8Array(points.buffer, points.byteOffset, recordLength));
  view.setUint32(recordLength, count, true);
  let to = head;
  for (const [i, layer] of layers.entries()) {
    view.setUint32(recordLength + 4 + 4 * i, layer.length, true);
    chunk.set(layer, to);
    to += layer.length;
  }
  return chunk;
}

/** The core of a point. */
interface CorePoint {
  x: number;
  y: number;
  z: number;
  intensity: number;
  n: number;
  r: number;
  flags: number;
  classification: number;
  userData: number;
  angle: number;
  source: number;
  time: bigint;
}

function readPoint(v: DataView, at: number): CorePoint {
  const returns = v.getUint8(at + 14);
  const bits = v.getUint8(at + 15);
  return {
    x: v.getInt32(at, true),
    y: v.getInt32(at + 4, true),
    z: v.getInt32(at + 8, true),
    intensity: v.getUint16(at + 12, true),
    r: returns & 15,
    n: returns >> 4,
    flags: (bits & 15) | ((bits >> 6) << 4),
    classification: v.getUint8(at + 16),
    userData: v.getUint8(at + 17),
    angle: v.getInt16(at + 18, true),
    source: v.getUint16(at + 20, true),
    time: v.getBigUint64(at + 22, true),
  };
}

/** Models and last point of one scanner channel. */
function createChannel(layers: Layer[], first: CorePoint) {
  const [returnsXy, zLayer, classLayer, flagLayer, intensityLayer, angleLayer, userLayer, sourceLayer, timeLayer] =
    layers;
  const changeMasks = modelTable(128);
  const channelSteps = createSymbolModel(3);
  const counts = modelTable(16);
  const numbers = modelTable(16);
  const samePulse = createSymbolModel(13);
  const xWriter = createIntegerEncoder(returnsXy.encoder, 32, 2);
  const yWriter = createIntegerEncoder(returnsXy.encoder, 32, 22);
  const zWriter = createIntegerEncoder(zLayer.encoder, 32, 20);
  const intensityWriter = createIntegerEncoder(intensityLayer.encoder, 16, 4);
  const angleWriter = createIntegerEncoder(angleLayer.encoder, 16, 2);
  const sourceWriter = createIntegerEncoder(sourceLayer.encoder, 16);
  const classModels = modelTable(256);
  const flagModels = modelTable(64);
  const userModels = modelTable(256);
  const medianX = Array.from({ length: 12 }, createRunningMedian);
  const medianY = Array.from({ length: 12 }, createRunningMedian);
  let last = first;
  let newTime = false;
  const heights = new Array<number>(8).fill(last.z);
  const intensities = new Array<number>(8).fill(last.intensity);
  const writeTime = createTimeEncoder(timeLayer.encoder, last.time, true);

  return {
    last: () => last,

    /** Writes which attributes differ from `before`, in this channel's models even if the point is of another one. */
    writeChanges(point: CorePoint, changesChannel: boolean, before: CorePoint): number {
      const place = Number(last.r === 1) | (Number(last.r >= last.n) << 1) | (Number(newTime) << 2);
      const step = [0, 1][(point.r - before.r) & 15] ?? (((before.r - point.r) & 15) === 1 ? 2 : 3);
      const changes =
        (Number(changesChannel) << 6) |
        (Number(point.source !== before.source) << 5) |
        (Number(point.time !== before.time) << 4) |
        (Number(point.angle !== before.angle) << 3) |
        (Number(point.n !== before.n) << 2) |
        step;
      returnsXy.encoder.symbol(changeMasks(place), changes);
      return changes;
    },

    writeChannel(step: number): void {
      returnsXy.encoder.symbol(channelSteps, step - 1);
    },

    writePoint(point: CorePoint, changes: number): void {
      const { n, r } = point;
      newTime = (changes & 16) !== 0;
      if (changes & 4) returnsXy.encoder.symbol(counts(last.n), n);
      if ((changes & 3) === 3) {
        if (newTime) returnsXy.encoder.symbol(numbers(last.r), r);
        else returnsXy.encoder.symbol(samePulse, (r - last.r - 2) & 15);
      }
      const single = Number(n === 1);
      const kind = 2 * kindOfReturn(n, r) + Number(newTime);
      const dx = (point.x - last.x) | 0;
      const bitsX = xWriter.write(medianX[kind].value(), dx, single);
      medianX[kind].add(dx);
      const dy = (point.y - last.y) | 0;
      const bitsY = yWriter.write(medianY[kind].value(), dy, single + (Math.min(bitsX, 20) & ~1));
      medianY[kind].add(dy);

      const level = Math.min(Math.abs(n - r), 7);
      zWriter.write(heights[level], point.z, single + (Math.min((bitsX + bitsY) >> 1, 18) & ~1));
      heights[level] = point.z;

      const place = (r === 1 ? 2 : 0) + (r >= n ? 1 : 0);
      const classKey = ((last.classification & 31) << 1) + Number(place === 3);
      classLayer.encoder.symbol(classModels(classKey), point.classification);
      classLayer.changed ||= point.classification !== last.classification;
      flagLayer.encoder.symbol(flagModels(last.flags), point.flags);
      flagLayer.changed ||= point.flags !== last.flags;
      const slot = 2 * place + Number(newTime);
      intensityWriter.write(intensities[slot], point.intensity, place);
      intensities[slot] = point.intensity;
      intensityLayer.changed ||= point.intensity !== last.intensity;
      userLayer.encoder.symbol(userModels(last.userData >> 2), point.userData);
      userLayer.changed ||= point.userData !== last.userData;
      if (changes & 8) {
        angleWriter.write(last.angle, point.angle, Number(newTime));
        angleLayer.changed = true;
      }
      if (changes & 32) {
        sourceWriter.write(last.source, point.source);
        sourceLayer.changed = true;
      }
      if (newTime) {
        writeTime(point.time);
        timeLayer.changed = true;
      }
      last = point;
    },
  };
}
