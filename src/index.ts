/**
 * cloudassay as a library. `assay` is the whole job: it reads a delivery, measures it, judges it against an acceptance
 * spec and answers with the report that the command line prints.
 */
export { Fault, type FaultFacts } from './fault.js';
export type { ReportFormat } from './report/formats.js';
export { reportJson } from './report/json.js';
export type { Report } from './report/model.js';
export { writeReport } from './report/write.js';
export { type CheckOptions, checkDelivery } from './run/check-delivery.js';
export { type Inspection, inspect } from './run/inspect.js';
