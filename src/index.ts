/**
 * cloudassay as a library. `checkDelivery` is the whole job: it reads a delivery, measures it, judges it against an
 * acceptance spec and returns the report that the command line prints. `writeReport` writes that report to a folder.
 */
export { Fault, type FaultFacts } from './fault.js';
export type { ReportFormat } from './report/formats.js';
export { reportJson } from './report/json.js';
export type { Report } from './report/model.js';
export { type CheckOptions, checkDelivery } from './run/check-delivery.js';
export { type Inspection, inspect } from './run/inspect.js';
export { writeReport } from './run/write-report.js';
