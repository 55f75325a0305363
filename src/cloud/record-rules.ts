import { collectFormatIssues, type FormatIssue, type ReportIssue } from './format-issue.js';
import { Encoding, type Header } from './header.js';
import { POINT_FORMATS } from './point-formats.js';
import { isRecord, type Vlr } from './vlr.js';

const SPEC = 'LASF_Spec';
const PROJECTION = 'LASF_Projection';
/** Record ids the LAS specification has given a meaning; 1 and 2 were early optional records (from memory of 1.0 to 1.2). */
const SPEC_IDS = [0, 1, 2, 3, 4, 7, 65535];
const PROJECTION_IDS = [2111, 2112, 33550, 33922, 34264, 34735, 34736, 34737];
const LOOKUP_BYTES = 256 * 16;
const DESCRIPTOR_BYTES = 26;

/**
 * Compares the records the specification itself defines with its text: LAS specification 1.4 revision 16 and 1.5, "other
 * specification defined VLRs" and "defined extended VLRs". Extra bytes and coordinate systems have rules of their own.
 */
export function inspectRecords(header: Header, vlrs: readonly Vlr[]): FormatIssue[] {
  const { formatIssues, add } = collectFormatIssues();
  for (const vlr of vlrs) {
    inspectId(vlr, add);
    if (isRecord(vlr, SPEC, 0)) inspectLookup(header, vlr, add);
    if (isRecord(vlr, SPEC, 3) && !vlr.skipped && !vlr.payload.includes(0)) {
      add(
        'text-area',
        vlr.payloadOffset,
        'no terminator',
        'a zero byte',
        'the text area is not terminated by a zero byte',
      );
    }
  }
  inspectDescriptors(header, vlrs, add);
  inspectPackets(header, vlrs, add);
  const late = vlrs.find((v) => v.extended && !isRecord(v, SPEC, 65535));
  if (late && header.pointFormat <= 5 && header.legacyPointCount > 0) {
    const text = 'legacy counts promise that older readers can read the file, but they cannot see its extended records';
    add('evlr-legacy', late.offset, 'an extended record', 'records before the points', text);
  }
  return formatIssues;
}

function inspectId({ userId, recordId, offset }: Vlr, add: ReportIssue): void {
  const known =
    (userId !== SPEC && userId !== PROJECTION) ||
    (userId === PROJECTION && PROJECTION_IDS.includes(recordId)) ||
    (userId === SPEC && (SPEC_IDS.includes(recordId) || isDescriptorId(recordId)));
  if (known) return;
  const text = `record ${userId} ${recordId} is not one that the specification defines`;
  add('vlr-spec-id', offset + 18, recordId, 'a defined record id', text);
}

function inspectLookup(header: Header, vlr: Vlr, add: ReportIssue): void {
  if (vlr.length !== LOOKUP_BYTES) {
    const text = 'the classification lookup has no room for exactly 256 classes';
    add('lookup-length', vlr.offset + 20, vlr.length, LOOKUP_BYTES, text);
  }
  if (header.versionMinor >= 5) {
    add('lookup-deprecated', vlr.offset, 'present', 'absent', 'LAS 1.5 has given up the classification lookup');
  }
}

function isDescriptorId(recordId: number): boolean {
  return recordId >= 100 && recordId <= 354;
}

function inspectDescriptors(header: Header, vlrs: readonly Vlr[], add: ReportIssue): void {
  const descriptors = vlrs.filter((v) => isDescriptorId(v.recordId) && isRecord(v, SPEC, v.recordId));
  if (POINT_FORMATS[header.pointFormat].waveform >= 0 && descriptors.length === 0) {
    const text = `point format ${header.pointFormat} needs a waveform packet descriptor record`;
    add('waveform-descriptors', 104, 0, 'at least 1', text);
  }
  const seen = new Set<number>();
  for (const { recordId, offset, payloadOffset, length, payload } of descriptors) {
    if (seen.has(recordId)) {
      const text = `waveform packet descriptor ${recordId} is there twice`;
      add('waveform-descriptor-repeated', offset + 18, recordId, 'an id of its own', text);
    }
    seen.add(recordId);
    if (length !== DESCRIPTOR_BYTES || payload.length !== length) {
      const text = `waveform packet descriptor ${recordId} has another length than its fields need`;
      add('waveform-descriptor-length', offset + 20, length, DESCRIPTOR_BYTES, text);
      continue;
    }
    if (payload[0] < 2 || payload[0] > 32) {
      const text = `waveform packet descriptor ${recordId} states an impossible sample size`;
      add('waveform-descriptor-bits', payloadOffset, payload[0], '2 to 32 bits', text);
    }
    if (payload[1] !== 0) {
      const text = `waveform packet descriptor ${recordId} states a compression that is not defined`;
      add('waveform-descriptor-compression', payloadOffset + 1, payload[1], 0, text);
    }
  }
}

/** From 1.4 on the start of waveform data is that of an extended record; 1.3 has no list of these. */
function inspectPackets(header: Header, vlrs: readonly Vlr[], add: ReportIssue): void {
  const { versionMinor, globalEncoding, waveformStart, pointOffset } = header;
  if (versionMinor < 4 || (globalEncoding & Encoding.waveformInside) === 0 || waveformStart < pointOffset) return;
  if (vlrs.some((v) => v.offset === waveformStart && isRecord(v, SPEC, 65535))) return;
  const text = 'no record of waveform data packets stands where the header says';
  add('waveform-packets', 227, waveformStart, 'the start of record LASF_Spec 65535', text);
}
