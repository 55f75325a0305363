import { Random } from '../../src/simulate/scene/random.js';
import { copcBreaks } from './copc-breaks.js';
import { crsBreaks, strictWktBreaks } from './crs-breaks.js';
import { headerBreaks } from './header-breaks.js';
import { lazBreaks } from './laz-breaks.js';
import { recordBreaks } from './record-breaks.js';
import { type SoundClouds, soundClouds } from './sound-clouds.js';

/** What a file needs beside its bytes. */
interface BreakNeeds {
  /** Size the file is to have; bytes behind the given ones are zero. */
  size?: (bytes: Uint8Array) => number;
  /** Only the stricter convention for WKT sees it. */
  strictWkt?: boolean;
}

/** Id of a rule, what is done to break it, and how. */
export type Break = [
  rule: string,
  what: string,
  make: (sound: SoundClouds, random: Random) => Uint8Array,
  needs?: BreakNeeds,
];

/** A file that breaks one rule and no other. */
export interface RuleBreaker {
  rule: string;
  what: string;
  bytes: Uint8Array;
  /** As the file would be called. */
  name: string;
  size: number;
  strictWkt: boolean;
}

const BREAKS: readonly Break[] = [
  ...headerBreaks,
  ...recordBreaks,
  ...crsBreaks,
  ...strictWktBreaks,
  ...lazBreaks,
  ...copcBreaks,
];

/** For each rule of the format a file that breaks only it; another seed breaks it in another place or by another number. */
export function ruleBreakers(seed: number): RuleBreaker[] {
  const sound = soundClouds(seed);
  return BREAKS.map(([rule, what, make, needs], i) => {
    const bytes = make(sound, new Random(seed * 1000 + i));
    return {
      rule,
      what,
      bytes,
      name: `${rule.toLowerCase()}.${(bytes[104] & 0x80) !== 0 ? 'laz' : 'las'}`,
      size: needs?.size?.(bytes) ?? bytes.length,
      strictWkt: needs?.strictWkt ?? false,
    };
  });
}
