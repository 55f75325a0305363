import { Encoding } from '../cloud/header-fields.js';
import type { DeliveredFile, DeliveryFacts } from '../delivery/delivery.js';
import { BoxIndex } from '../geometry/box-index.js';
import type { Finding } from '../report/model.js';

/** Metres in a foot; heights do not show which of the two feet it is. */
const FOOT = 0.3048;
/** Files no farther apart than this in plan adjoin, metres. */
const ADJOINING = 1;
/** Heights of adjoining files farther apart than this do not meet, metres; in the right unit they come at least so near. */
const APART = 2;
/** Files named in a finding. */
const NAMED = 3;

/**
 * What files of a delivery contradict each other in, so that figures over both prove nothing: the unit of their heights where
 * the header of one states none, and what their GPS times count from, where passes are separated by these times.
 * A delivery with such a finding is not accepted.
 */
export function contradictions({ files, passRule }: DeliveryFacts): Finding[] {
  const readable = files.filter(({ header, fault }) => header !== null && fault === null && header.pointCount > 0);
  return [...heightsInFeet(readable), ...(passRule.gap === undefined ? [] : mixedTimes(readable))];
}

/** Files whose heights meet those of no adjoining file in the unit that is assumed, but would in feet. */
function heightsInFeet(files: readonly DeliveredFile[]): Finding[] {
  const boxes = files.map(({ header, horizontalUnit }) => {
    const [minX, minY, maxX, maxY] = [...header!.min.slice(0, 2), ...header!.max.slice(0, 2)].map(
      (v) => v * horizontalUnit,
    );
    return {
      minX: minX - ADJOINING / 2,
      minY: minY - ADJOINING / 2,
      maxX: maxX + ADJOINING / 2,
      maxY: maxY + ADJOINING / 2,
    };
  });
  const index = new BoxIndex(boxes);
  const heights = files.map(
    ({ header, heightUnit }) => [header!.min[2] * heightUnit, header!.max[2] * heightUnit] as const,
  );
  return files.flatMap((file, i): Finding[] => {
    const [low, high] = heights[i];
    const others = index.meeting(boxes[i]).filter((j) => j !== i);
    if (others.some((j) => !isApart(heights[i], heights[j]))) return [];
    const inMetres = others.find(
      (j) =>
        (!file.crs?.vertical || !files[j].crs?.vertical) &&
        !isApart([low * FOOT, high * FOOT], heights[j]) &&
        low > heights[j][1],
    );
    if (inMetres === undefined) return [];
    const range = ([a, b]: readonly [number, number]) => `${a.toFixed(1)} to ${b.toFixed(1)} m`;
    return [
      {
        severity: 'warning',
        code: 'height-unit',
        file: file.name,
        text: `The heights, ${range(heights[i])}, meet those of no adjoining file (${files[inMetres].name}: ${range(heights[inMetres])}), but multiplied by ${FOOT} they do: the file probably holds feet where the others hold metres. State the unit of heights in every header, or deliver all heights in one unit; the delivery cannot be accepted as it is.`,
      },
    ];
  });
}

function isApart([lowA, highA]: readonly [number, number], [lowB, highB]: readonly [number, number]): boolean {
  return lowA > highB + APART || lowB > highA + APART;
}

/** Point formats without GPS times (LAS 1.4 R16, point data records). */
const WITHOUT_TIME = [0, 2];

function mixedTimes(files: readonly DeliveredFile[]): Finding[] {
  const timed = files.filter(({ header }) => !WITHOUT_TIME.includes(header!.pointFormat));
  const isStandard = ({ header }: DeliveredFile) => (header!.globalEncoding & Encoding.standardGpsTime) !== 0;
  const standard = timed.filter(isStandard);
  const ofWeek = timed.filter((file) => !isStandard(file));
  if (standard.length === 0 || ofWeek.length === 0) return [];
  const names = (some: readonly DeliveredFile[]) =>
    `${some.length} ${some.length === 1 ? 'file' : 'files'} (${some
      .slice(0, NAMED)
      .map(({ name }) => name)
      .join(', ')}${some.length > NAMED ? ' ...' : ''})`;
  return [
    {
      severity: 'warning',
      code: 'gps-time-mixed',
      text: `GPS times are seconds of the week in ${names(ofWeek)} and standard GPS time in ${names(standard)}: passes are separated by gaps in time, and one drive has two times. Deliver one kind of GPS time, or separate passes in another way; the delivery cannot be accepted as it is.`,
    },
  ];
}
