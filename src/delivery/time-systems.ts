const SYSTEMS = ['gps-week-seconds', 'gps-seconds', 'adjusted-gps-seconds', 'utc', 'unix-seconds'] as const;

/**
 * What the times of a file count: seconds of the GPS week; seconds since 6 January 1980; the same less 1e9; date and time of day
 * in UTC as text; seconds since 1 January 1970 without leap seconds.
 */
export type TimeSystem = (typeof SYSTEMS)[number];

/** The time system of a file, as an option or a comment line states it. */
export interface StatedTime {
  system: TimeSystem;
  /** GPS week of the first row, with seconds of the week; null where it is not stated. */
  week: number | null;
}

/** The statement in "gps-week-seconds, week 2347" or "utc"; null for other texts. */
export function statedTime(text: string): StatedTime | null {
  const match = /^\s*([a-z-]+?)-?\s*(?:[,;:\s]\s*(?:gps\s*)?(?:week\s*)?(\d{1,5}))?\s*$/i.exec(text);
  const name = match?.[1].toLowerCase();
  const system = SYSTEMS.find((one) => one === name);
  if (!match || system === undefined) return null;
  const week = match[2] === undefined ? null : Number(match[2]);
  return week !== null && system !== 'gps-week-seconds' ? null : { system, week };
}

/** The names that `statedTime` knows, for messages. */
export const TIME_SYSTEM_NAMES = SYSTEMS.join(', ');
