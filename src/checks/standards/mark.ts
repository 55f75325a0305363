import type { AccuracyStatement } from '../../report-shape/statement.js';

/** Where a figure or a wording comes from. */
export type MarkedSource = AccuracyStatement['sources'][number];

/**
 * How far a figure or a wording can be trusted: seen in the standard itself (`read`), in a transcript of it (`read-T`), in
 * a description of it by others (`read-S`), computed from such figures (`computed`), or recalled and not seen (`memory`).
 */
export type Mark = MarkedSource['mark'];
