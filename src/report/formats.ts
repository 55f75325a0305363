/** Formats in which a report can be written, as the command line names them. */
export const REPORT_FORMATS = ['json', 'html', 'junit', 'csv', 'geojson', 'md', 'quality'] as const;
export type ReportFormat = (typeof REPORT_FORMATS)[number];
