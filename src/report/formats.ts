/** Formats a report can be written in; the words used on the command line. */
export const REPORT_FORMATS = ['json', 'html', 'junit', 'csv', 'geojson', 'md', 'quality'] as const;
export type ReportFormat = (typeof REPORT_FORMATS)[number];
