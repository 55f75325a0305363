import {
  decodeClassification,
  decodeFlags,
  decodeGpsTime,
  decodeIntensity,
  decodePointSource,
  decodeScanAngle,
  decodeUserData,
  decodeZ,
  startClassification,
  startFlags,
  startGpsTime,
  startIntensity,
  startPointSource,
  startScanAngle,
  startUserData,
  startZ,
} from './attributes';
import {
  decodeColour,
  decodeExtra,
  decodeNir,
  decodeWaveform,
  startColour,
  startExtra,
  startNir,
  startWaveform,
} from './auxiliary';
import { Columns } from './columns';
import { fill16, fill32, fill64, fill8, fillRecords } from './fill';
import {
  ABSENT,
  CODED,
  CONSTANT,
  forgetLayers,
  LAYER_CLASSIFICATION,
  LAYER_COLOUR,
  LAYER_EXTRA,
  LAYER_FLAGS,
  LAYER_GPS_TIME,
  LAYER_INTENSITY,
  LAYER_NIR,
  LAYER_POINT_SOURCE,
  LAYER_RETURNS_XY,
  LAYER_SCAN_ANGLE,
  LAYER_USER_DATA,
  LAYER_WAVEFORM,
  LAYER_Z,
  layerUse,
  setLayer,
} from './layers';
import { COUNT, ENDED, FINE, Layout, SIZES, SYMBOL, TOO_SHORT, wants } from './layout';
import { startReturnsXy, decodeReturnsXy } from './returns-xy';
import { Stream } from './stream';

/*
 * Chunks of formats 6 to 10: the first point as it is, the number of points, the sizes of the layers, the layers.
 */

/** Size of the next layer in the chunk. */
let sizeAt: usize = 0;
/** Where the next layer lies. */
let layerAt: usize = 0;
let chunkEnd: usize = 0;

/** Notes a layer of the chunk. @returns false when it would lie beyond the end. */
function takeLayer(layer: u32, wanted: bool): bool {
  const size = load<u32>(sizeAt);
  sizeAt += 4;
  if (size > <u32>(chunkEnd - layerAt) || (size > 0 && size < 4)) return false;
  setLayer(layer, layerAt, size, wanted);
  layerAt += size;
  return true;
}

/** Starts a chunk of `size` bytes at `chunk`. */
export function startLayered(chunk: usize, size: u32, points: u32, wanted: u32): i32 {
  const extraLength = Layout.extraLength;
  const layers = 9 + u32(Layout.colour) + u32(Layout.nir) + u32(Layout.waveform) + extraLength;
  const head = Layout.recordLength + 4 + 4 * layers;
  if (size < head) return TOO_SHORT;
  const count = chunk + Layout.recordLength;
  if (load<u32>(count) !== points) return COUNT;
  forgetLayers();
  sizeAt = count + 4;
  layerAt = chunk + head;
  chunkEnd = chunk + size;
  if (load<u32>(sizeAt) === 0) return TOO_SHORT;
  for (let layer = LAYER_RETURNS_XY; layer <= LAYER_GPS_TIME; ++layer) {
    if (!takeLayer(layer, layer === LAYER_RETURNS_XY || wants(wanted, layer))) return SIZES;
  }
  if (Layout.colour && !takeLayer(LAYER_COLOUR, wants(wanted, LAYER_COLOUR))) return SIZES;
  if (Layout.nir && !takeLayer(LAYER_NIR, wants(wanted, LAYER_NIR))) return SIZES;
  if (Layout.waveform && !takeLayer(LAYER_WAVEFORM, wants(wanted, LAYER_WAVEFORM))) return SIZES;
  for (let j: u32 = 0; j < extraLength; ++j) {
    if (!takeLayer(LAYER_EXTRA + j, wants(wanted, LAYER_EXTRA))) return SIZES;
  }
  if (layerAt !== chunkEnd) return SIZES;
  startFromFirst(chunk, wanted);
  return FINE;
}

/** Sets all layers on the first point, which is stored plainly; columns that never change are filled with it at once. */
function startFromFirst(p: usize, wanted: u32): void {
  const returns = <u32>load<u8>(p, 14);
  const bits = <u32>load<u8>(p, 15);
  const channel = (bits >> 4) & 3;
  startReturnsXy(channel, load<i32>(p, 0), load<i32>(p, 4), returns >> 4, returns & 15);
  store<i32>(Columns.x, load<i32>(p, 0));
  store<i32>(Columns.y, load<i32>(p, 4));
  store<u8>(Columns.returnNumber, <u8>(returns & 15));
  store<u8>(Columns.returnCount, <u8>(returns >> 4));
  store<u8>(Columns.scannerChannel, <u8>channel);

  startZ(channel, load<i32>(p, 8));
  fill32(Columns.z, load<u32>(p, 8), length(LAYER_Z));
  startIntensity(channel, load<u16>(p, 12));
  fill16(Columns.intensity, load<u16>(p, 12), length(LAYER_INTENSITY));
  const flags = (bits & 15) | ((bits >> 6) << 4);
  startFlags(channel, flags);
  fill8(Columns.flags, <u8>flags, length(LAYER_FLAGS));
  startClassification(channel, load<u8>(p, 16));
  fill8(Columns.classification, load<u8>(p, 16), length(LAYER_CLASSIFICATION));
  startUserData(channel, load<u8>(p, 17));
  fill8(Columns.userData, load<u8>(p, 17), length(LAYER_USER_DATA));
  startScanAngle(channel, load<u16>(p, 18));
  fill16(Columns.scanAngle, load<u16>(p, 18), length(LAYER_SCAN_ANGLE));
  startPointSource(channel, load<u16>(p, 20));
  fill16(Columns.pointSourceId, load<u16>(p, 20), length(LAYER_POINT_SOURCE));
  startGpsTime(channel, load<u64>(p, 22));
  fill64(Columns.gpsTime, load<u64>(p, 22), length(LAYER_GPS_TIME));
  p += 30;
  if (Layout.colour) {
    startColour(channel, p);
    fill16(Columns.red, load<u16>(p, 0), length(LAYER_COLOUR));
    fill16(Columns.green, load<u16>(p, 2), length(LAYER_COLOUR));
    fill16(Columns.blue, load<u16>(p, 4), length(LAYER_COLOUR));
    p += 6;
  }
  if (Layout.nir) {
    startNir(channel, load<u16>(p));
    fill16(Columns.nir, load<u16>(p), length(LAYER_NIR));
    p += 2;
  }
  if (Layout.waveform) {
    startWaveform(channel, p);
    if (wants(wanted, LAYER_WAVEFORM)) fillRecords(Columns.waveform, p, 29, length(LAYER_WAVEFORM));
    p += 29;
  }
  if (wants(wanted, LAYER_EXTRA)) {
    startExtra(channel, p, Layout.extraLength);
    fillRecords(Columns.extra, p, Layout.extraLength, 0xffffffff);
  }
}

/** How much of a column the first point fills: all of it if the layer is constant. */
function length(layer: u32): u32 {
  return layerUse(layer) === CONSTANT ? 0xffffffff : 1;
}

/** Decodes the points from `from` to before `to` of the block, layer by layer. */
export function decodeLayered(from: u32, to: u32): i32 {
  const follow = Layout.version === 4;
  let fine = decodeReturnsXy(from, to, follow);
  if (fine && layerUse(LAYER_Z) === CODED) fine = decodeZ(from, to);
  if (fine && layerUse(LAYER_CLASSIFICATION) === CODED) fine = decodeClassification(from, to);
  if (fine && layerUse(LAYER_FLAGS) === CODED) fine = decodeFlags(from, to);
  if (fine && layerUse(LAYER_INTENSITY) === CODED) fine = decodeIntensity(from, to);
  if (fine && layerUse(LAYER_SCAN_ANGLE) === CODED) fine = decodeScanAngle(from, to);
  if (fine && layerUse(LAYER_USER_DATA) === CODED) fine = decodeUserData(from, to);
  if (fine && layerUse(LAYER_POINT_SOURCE) === CODED) fine = decodePointSource(from, to);
  if (fine && layerUse(LAYER_GPS_TIME) === CODED) fine = decodeGpsTime(from, to);
  if (fine && layerUse(LAYER_COLOUR) === CODED) fine = decodeColour(from, to, follow);
  if (fine && layerUse(LAYER_NIR) === CODED) fine = decodeNir(from, to, follow);
  if (fine && layerUse(LAYER_WAVEFORM) === CODED) fine = decodeWaveform(from, to, follow);
  if (fine && layerUse(LAYER_EXTRA) !== ABSENT) fine = decodeExtra(from, to, Layout.extraLength, follow);
  if (!fine) return ENDED;
  return Stream.damage === 0 ? FINE : SYMBOL;
}
