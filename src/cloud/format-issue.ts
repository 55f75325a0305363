/** Names of the rules about the public header block. */
export type HeaderRule =
  | 'signature'
  | 'header-cut'
  | 'version'
  | 'header-size'
  | 'header-longer'
  | 'header-reserved'
  | 'header-text'
  | 'header-text-empty'
  | 'header-text-ascii'
  | 'creation-day'
  | 'creation-year'
  | 'encoding-reserved'
  | 'encoding-waveform'
  | 'encoding-wkt'
  | 'time-offset-flag'
  | 'time-offset'
  | 'format-unknown'
  | 'format-for-version'
  | 'format-bits'
  | 'record-length'
  | 'point-offset'
  | 'points-outside-file'
  | 'point-mark'
  | 'scale'
  | 'scale-negative'
  | 'scale-range'
  | 'offset'
  | 'coordinate-range'
  | 'box-not-finite'
  | 'box-order'
  | 'box-empty'
  | 'gps-range-order'
  | 'gps-range-empty'
  | 'gps-range-week'
  | 'count-inexact'
  | 'count-by-return'
  | 'count-legacy-format'
  | 'count-legacy-large'
  | 'count-legacy-differs'
  | 'count-missing'
  | 'points-beyond-file'
  | 'bytes-after-points'
  | 'waveform-start'
  | 'waveform-start-set'
  | 'waveform-nowhere'
  | 'evlr-start'
  | 'evlr-start-set';

/** Names of the rules about variable length records, extra bytes among them. */
export type RecordRule =
  | 'vlr-count'
  | 'vlr-beyond-points'
  | 'vlr-reserved'
  | 'vlr-text'
  | 'vlr-user-id'
  | 'vlr-gap'
  | 'vlr-spec-id'
  | 'evlr-count'
  | 'evlr-beyond-file'
  | 'evlr-legacy'
  | 'lookup-length'
  | 'lookup-deprecated'
  | 'text-area'
  | 'waveform-descriptors'
  | 'waveform-descriptor-length'
  | 'waveform-descriptor-bits'
  | 'waveform-descriptor-compression'
  | 'waveform-descriptor-repeated'
  | 'waveform-packets'
  | 'extra-bytes-length'
  | 'extra-bytes-sum'
  | 'extra-bytes-undocumented'
  | 'extra-bytes-zero'
  | 'extra-bytes-type'
  | 'extra-bytes-deprecated'
  | 'extra-bytes-options'
  | 'extra-bytes-scale'
  | 'extra-bytes-range'
  | 'extra-bytes-name'
  | 'extra-bytes-name-repeated'
  | 'extra-bytes-repeated';

/** Names of the rules about the records of the coordinate system. */
export type CrsRule =
  | 'crs-missing'
  | 'crs-record-repeated'
  | 'crs-records-both'
  | 'crs-record-kind'
  | 'crs-legacy'
  | 'wkt-terminator'
  | 'wkt-empty'
  | 'wkt-utf8'
  | 'wkt-syntax'
  | 'wkt-numbers'
  | 'wkt-version'
  | 'wkt-dialect'
  | 'geotiff-length'
  | 'geotiff-version'
  | 'geotiff-count'
  | 'geotiff-order'
  | 'geotiff-reference'
  | 'geotiff-lost';

/** Names of what a stricter convention for WKT than the format's own does not accept (USGS Lidar Base Specification). */
export type StrictWktRule =
  | 'usgs-wkt-version'
  | 'usgs-wkt-compound'
  | 'usgs-wkt-authority'
  | 'usgs-wkt-geoid'
  | 'usgs-wkt-nodes'
  | 'usgs-wkt-blanks';

/** Names of the rules about compressed points. */
export type LazRule =
  | 'laz-record-missing'
  | 'laz-record-length'
  | 'laz-record-repeated'
  | 'laz-record-idle'
  | 'laz-compressor'
  | 'laz-coder'
  | 'laz-items'
  | 'laz-item-version'
  | 'laz-chunk-size'
  | 'laz-compatibility'
  | 'laz-special-evlrs'
  | 'laz-evlr-place'
  | 'laz-interrupted'
  | 'laz-table-place'
  | 'laz-table-version'
  | 'laz-table-count'
  | 'laz-table-sum'
  | 'laz-table-points'
  | 'laz-chunk';

/** Names of the rules about COPC. */
export type CopcRule =
  | 'copc-format'
  | 'copc-info-place'
  | 'copc-info-length'
  | 'copc-info-reserved'
  | 'copc-info-repeated'
  | 'copc-half-size'
  | 'copc-spacing'
  | 'copc-cube'
  | 'copc-hierarchy'
  | 'copc-root'
  | 'copc-page-size'
  | 'copc-page-loop'
  | 'copc-page-outside'
  | 'copc-entry-count'
  | 'copc-entry-empty'
  | 'copc-key'
  | 'copc-key-repeated'
  | 'copc-parent'
  | 'copc-count'
  | 'copc-chunk-outside'
  | 'copc-chunk-overlap'
  | 'copc-chunk-table'
  | 'copc-chunk-size';

/** Names of all format rules that are checked. One name per rule. */
export type FormatRule = HeaderRule | RecordRule | CrsRule | StrictWktRule | LazRule | CopcRule;

/**
 * A violation of a format rule, found while reading. It is not a verdict: the checks decide how serious it is.
 */
export interface FormatIssue {
  rule: FormatRule;
  /** Absolute byte position of the violation in the file. */
  offset: number;
  found: string | number;
  expected: string | number;
  /** One plain sentence. */
  text: string;
}

/** Notes one issue. */
export type ReportIssue = (
  rule: FormatRule,
  offset: number,
  found: string | number,
  expected: string | number,
  text: string,
) => void;

/** A list of formatIssues and the function that adds to it. */
export function collectFormatIssues(): { formatIssues: FormatIssue[]; add: ReportIssue } {
  const formatIssues: FormatIssue[] = [];
  const add: ReportIssue = (rule, offset, found, expected, text) =>
    formatIssues.push({ rule, offset, found, expected, text });
  return { formatIssues, add };
}
