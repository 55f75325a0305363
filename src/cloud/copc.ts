import { collectFormatIssues, type FormatIssue, type ReportIssue } from './format-issue.js';
import type { Header, Triple } from './header.js';
import { findRecord, isRecord, type Vlr } from './vlr.js';

/** The COPC info record (COPC 1.0). */
export interface CopcInfo {
  /** Of the root cube, in the cloud's unit. */
  center: Triple;
  halfSize: number;
  /** Point spacing at the root, halved at each level. */
  spacing: number;
  rootOffset: number;
  rootSize: number;
  gpsTimeMin: number;
  gpsTimeMax: number;
}

const INFO_BYTES = 160;
/** Position of the info record: directly after a header of 375 bytes. */
const INFO_AT = 375;

/** Whether a file is COPC, from its content: compressed, with the info record at its position. */
export function isCopc(header: Header, vlrs: readonly Vlr[]): boolean {
  const vlr = findRecord(vlrs, 'copc', 1);
  return header.compressed && vlr !== null && vlr.payload.length >= 72;
}

/** Reads the info record of a file for which isCopc holds. */
export function readCopcInfo(vlrs: readonly Vlr[]): CopcInfo {
  const { payload } = findRecord(vlrs, 'copc', 1)!;
  const view = new DataView(payload.buffer, payload.byteOffset, payload.byteLength);
  const u64 = (at: number) => Number(view.getBigUint64(at, true));
  const f64 = (at: number) => view.getFloat64(at, true);
  return {
    center: [f64(0), f64(8), f64(16)],
    halfSize: f64(24),
    spacing: f64(32),
    rootOffset: u64(40),
    rootSize: u64(48),
    gpsTimeMin: f64(56),
    gpsTimeMax: f64(64),
  };
}

/** Compares the info record with the rules of COPC 1.0 (https://copc.io), "implementation". */
export function inspectCopc(header: Header, vlrs: readonly Vlr[], info: CopcInfo, size: number): FormatIssue[] {
  const { formatIssues, add } = collectFormatIssues();
  if (header.pointFormat < 6 || header.pointFormat > 8)
    add('copc-format', 104, header.pointFormat, '6 to 8', 'COPC has point formats 6 to 8 only');
  const infos = vlrs.filter((v) => isRecord(v, 'copc', 1));
  if (infos.length > 1) add('copc-info-repeated', infos[1].offset, infos.length, 1, 'more than one COPC info record');
  inspectInfo(infos[0], add);
  inspectCube(header, info, infos[0].payloadOffset, add);
  inspectRoot(vlrs, info, infos[0].payloadOffset + 40, size, add);
  return formatIssues;
}

function inspectInfo(vlr: Vlr, add: ReportIssue): void {
  if (vlr.offset !== INFO_AT)
    add('copc-info-place', vlr.offset, vlr.offset, INFO_AT, 'the COPC info record is not the first record');
  if (vlr.payload.length !== INFO_BYTES) {
    const text = 'the COPC info record has another length';
    add('copc-info-length', vlr.offset + 20, vlr.payload.length, INFO_BYTES, text);
  } else if (vlr.payload.subarray(72).some((b) => b !== 0)) {
    const text = 'reserved fields of the COPC info record are not zero';
    add('copc-info-reserved', vlr.payloadOffset + 72, 'other bytes', 'zero', text);
  }
}

function inspectCube(header: Header, info: CopcInfo, at: number, add: ReportIssue): void {
  if (!(info.spacing > 0)) {
    add('copc-spacing', at + 32, String(info.spacing), 'above zero', 'the spacing of the root node must be above zero');
  }
  if (!(info.halfSize > 0) || !info.center.every(Number.isFinite)) {
    const found = `${info.halfSize} about ${info.center.join(' ')}`;
    add('copc-half-size', at, found, 'above zero', 'centre and half size do not make a cube');
    return;
  }
  for (const [i, axis] of ['x', 'y', 'z'].entries()) {
    const low = info.center[i] - info.halfSize;
    const high = info.center[i] + info.halfSize;
    const slack = Math.abs(header.scale[i]);
    if (header.pointCount === 0 || !(header.min[i] < low - slack || header.max[i] > high + slack)) continue;
    const text = `the root cube does not hold the header's ${axis} range`;
    add('copc-cube', at, `${low} to ${high}`, `${header.min[i]} to ${header.max[i]}`, text);
  }
}

function inspectRoot(vlrs: readonly Vlr[], info: CopcInfo, at: number, size: number, add: ReportIssue): void {
  // Some writers give every page a record of its own.
  const hierarchies = vlrs.filter((v) => isRecord(v, 'copc', 1000));
  if (hierarchies.length === 0) {
    add('copc-hierarchy', at, 'none', 'a record copc 1000', 'the file has no COPC hierarchy record');
    return;
  }
  if (info.rootOffset + info.rootSize > size) {
    const text = 'the root page reaches beyond the end of the file';
    add('copc-page-outside', at, info.rootOffset + info.rootSize, `at most ${size}`, text);
    return;
  }
  const inside = (h: Vlr) =>
    info.rootOffset >= h.payloadOffset && info.rootOffset + info.rootSize <= h.payloadOffset + h.length;
  if (hierarchies.some(inside)) return;
  const text = 'the root page is not inside a hierarchy record';
  add('copc-root', at, info.rootOffset, 'a position in the hierarchy record', text);
}
