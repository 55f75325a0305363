import { Arena } from './arena';

/** Points decoded at a time. */
export const BLOCK: u32 = 16384;

/** Addresses of the columns of a block of points. */
export class Columns {
  static x: usize = 0;
  static y: usize = 0;
  static z: usize = 0;
  static intensity: usize = 0;
  static returnNumber: usize = 0;
  static returnCount: usize = 0;
  static flags: usize = 0;
  static classification: usize = 0;
  static scannerChannel: usize = 0;
  static scanAngle: usize = 0;
  static userData: usize = 0;
  static pointSourceId: usize = 0;
  static gpsTime: usize = 0;
  static red: usize = 0;
  static green: usize = 0;
  static blue: usize = 0;
  static nir: usize = 0;
  static waveform: usize = 0;
  static extra: usize = 0;
  /** Bytes of `extra` a point. */
  static extraLength: u32 = 0;
  /** What the other layers must know of a point's place in its pulse and of what changed; see layered.ts. */
  static pulse: usize = 0;
  /** Contexts of a point's height. */
  static height: usize = 0;
}

/** Lays the columns out one after another. */
export function layOutColumns(waveform: bool, extraLength: u32): void {
  Arena.top = Arena.base();
  Columns.x = Arena.take(4 * BLOCK);
  Columns.y = Arena.take(4 * BLOCK);
  Columns.z = Arena.take(4 * BLOCK);
  Columns.intensity = Arena.take(2 * BLOCK);
  Columns.returnNumber = Arena.take(BLOCK);
  Columns.returnCount = Arena.take(BLOCK);
  Columns.flags = Arena.take(BLOCK);
  Columns.classification = Arena.take(BLOCK);
  Columns.scannerChannel = Arena.take(BLOCK);
  Columns.scanAngle = Arena.take(2 * BLOCK);
  Columns.userData = Arena.take(BLOCK);
  Columns.pointSourceId = Arena.take(2 * BLOCK);
  Columns.gpsTime = Arena.take(8 * BLOCK);
  Columns.red = Arena.take(2 * BLOCK);
  Columns.green = Arena.take(2 * BLOCK);
  Columns.blue = Arena.take(2 * BLOCK);
  Columns.nir = Arena.take(2 * BLOCK);
  Columns.pulse = Arena.take(BLOCK);
  Columns.height = Arena.take(BLOCK);
  Columns.waveform = Arena.take(waveform ? 29 * BLOCK : 0);
  Columns.extra = Arena.take(extraLength * BLOCK);
  Columns.extraLength = extraLength;
}
