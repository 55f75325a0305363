import { transformToWgs84 } from '../crs/wgs84.js';
import type { ReportFormat } from '../report/formats.js';
import type { Report } from '../report/model.js';
import { writeReport as writeFormats } from '../report/write.js';

/**
 * Writes a report into a folder, in the formats asked for. GeoJSON is in longitude and latitude on WGS 84 where the
 * coordinate system of the cloud can be converted to it, else in the coordinates of the cloud. Files get their final names
 * only when all of them are complete.
 * @returns the paths written, in the order of the formats
 * @throws Fault where the folder cannot be written to
 */
export async function writeReport(report: Report, folder: string, formats: readonly ReportFormat[]): Promise<string[]> {
  return writeFormats(report, folder, formats, { toWgs84: transformToWgs84(report.delivery.crs) });
}
