import type { PassPair } from '../../measure/pass-pairs.js';
import type { SeenDirection } from '../../measure/planes/shift-directions.js';
import { length, signedLength } from '../contract/wording.js';

/** A unit vector is horizontal where its height is below this: the shift along it contains no part of the height. */
const LEVEL = 0.05;

/** The directions of a pair that are horizontal. */
export function horizontalOf({ directions }: PassPair): SeenDirection[] {
  return directions.filter(({ direction }) => Math.abs(direction[2]) <= LEVEL);
}

/** Says what is seen of a shift that is hidden in part: each direction with its size and bearing, then what is hidden. */
export function partlySeenWords(pair: PassPair): string[] {
  const horizontal = horizontalOf(pair);
  const up = pair.directions.find(({ name }) => name === 'up');
  const seen = [
    ...horizontal.map((one) => `${length(Math.abs(one.distance))} ${nameWords(one)} (bearing ${bearingOf(one)})`),
    ...(up ? [`${signedLength(up.distance)} in height`] : []),
  ];
  return [...(seen.length > 0 ? [`seen: ${seen.join(' and ')}`] : []), hiddenWords(pair, horizontal, up !== undefined)];
}

function nameWords({ name }: SeenDirection): string {
  if (name === 'along') return 'along the road';
  return name === 'across' ? 'across the road' : 'horizontally';
}

function hiddenWords({ observable }: PassPair, horizontal: readonly SeenDirection[], up: boolean): string {
  const hidden: string[] = [];
  if (horizontal.length === 0 && !observable[0] && !observable[1]) hidden.push('a horizontal shift');
  else if (!observable[0] || !observable[1]) hidden.push(`the shift ${acrossFrom(horizontal[0])}`);
  if (!up && !observable[2]) hidden.push('the shift in height');
  return `no surface shows ${hidden.join(' or ')}`;
}

function acrossFrom(seen: SeenDirection | undefined): string {
  if (seen?.name === 'across') return 'along the road';
  return seen?.name === 'along' ? 'across the road' : 'in the other horizontal direction';
}

/** Bearing of the shift along a direction, degrees clockwise from grid north. */
function bearingOf({ direction: [x, y], distance }: SeenDirection): string {
  const sign = distance < 0 ? -1 : 1;
  const degrees = (Math.atan2(sign * x, sign * y) * 180) / Math.PI;
  return `${Math.round((degrees + 360) % 360) % 360}°`;
}
