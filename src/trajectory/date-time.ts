import { gpsOfUtc } from './gps-time.js';

const DATE_TIME = /^(\d{4}[-/]\d\d[-/]\d\d)[T ](\d\d):(\d\d):(\d\d(?:\.\d*)?) ?(?:UTC)?(Z|z|[+-]\d\d:?\d\d)?$/;

/** Seconds of an offset from UTC such as +01:00. */
function offsetOf(zone: string): number {
  const seconds = Number(zone.slice(1, 3)) * 3600 + Number(zone.slice(-2)) * 60;
  return zone.startsWith('-') ? -seconds : seconds;
}

/** Reads dates with times of day (ISO 8601, extended format). Most follow another of their day. */
export class DateTimeReader {
  #day = '';
  #unixDay = 0;

  /** Standard GPS time of YYYY-MM-DD hh:mm:ss.sss in UTC, or with another offset from UTC; null where the text is no date and time. */
  gpsOf(text: string): number | null {
    const match = DATE_TIME.exec(text);
    if (!match) return null;
    const [, day, hours, minutes, seconds, zone] = match;
    if (day !== this.#day) {
      this.#unixDay = Date.parse(`${day.replaceAll('/', '-')}T00:00:00Z`) / 1000;
      this.#day = day;
    }
    const offset = zone && zone !== 'Z' && zone !== 'z' ? offsetOf(zone) : 0;
    const [h, m, s] = [Number(hours), Number(minutes), Number(seconds)];
    if (Number.isNaN(this.#unixDay) || h > 23 || m > 59 || s >= 61) return null;
    const second = h * 3600 + m * 60 - offset;
    // The leap second belongs to the UTC day on which it is.
    const days = Math.floor(second / 86_400);
    return gpsOfUtc(this.#unixDay + days * 86_400, second - days * 86_400 + s);
  }
}
