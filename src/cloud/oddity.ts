/** Names of everything that can be odd about a header, its records, or the packing. One name, one rule of the format. */
export type OddityRule =
  // public header block
  | 'version'
  | 'header-size'
  | 'header-text'
  | 'creation-date'
  | 'encoding-reserved'
  | 'encoding-waveform'
  | 'encoding-wkt'
  | 'time-offset'
  | 'format-for-version'
  | 'format-bits'
  | 'point-offset'
  | 'scale'
  | 'box-not-finite'
  | 'box-order'
  | 'box-empty'
  | 'count-inexact'
  | 'count-by-return'
  | 'count-legacy-format'
  | 'count-legacy-large'
  | 'count-legacy-differs'
  | 'count-missing'
  | 'points-beyond-file'
  | 'bytes-after-points'
  | 'waveform-start'
  | 'evlr-start'
  // variable length records
  | 'vlr-count'
  | 'vlr-beyond-points'
  | 'vlr-reserved'
  | 'vlr-text'
  | 'vlr-gap'
  | 'evlr-beyond-file'
  | 'evlr-before-points'
  | 'waveform-descriptors'
  // extra bytes
  | 'extra-bytes-length'
  | 'extra-bytes-sum'
  | 'extra-bytes-undocumented'
  | 'extra-bytes-zero'
  | 'extra-bytes-type'
  | 'extra-bytes-name'
  | 'extra-bytes-repeated'
  // coordinate system records
  | 'crs-record-repeated'
  | 'crs-records-both'
  | 'crs-record-kind'
  | 'wkt-text'
  | 'geotiff-directory'
  | 'geotiff-reference'
  // LAZ
  | 'laz-record'
  | 'laz-items'
  | 'laz-compatibility'
  | 'laz-chunk-table'
  // COPC
  | 'copc-info'
  | 'copc-format'
  | 'copc-page'
  | 'copc-key'
  | 'copc-parent'
  | 'copc-count'
  | 'copc-cube';

/**
 * Something the format's rules do not allow, met while reading and kept as data. Nothing here is a verdict: how bad it
 * is, is decided elsewhere.
 */
export interface Oddity {
  rule: OddityRule;
  /** Absolute byte position in the file of what is odd. */
  offset: number;
  found: string | number;
  expected: string | number;
  /** One plain sentence. */
  text: string;
}
