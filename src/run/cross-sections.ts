import type { JudgedRequirement } from '../assemble/build-report.js';
import type { CrossSectionEvidence, Location } from '../checks/contract/check.js';
import { type DeliveryFacts, passLabel } from '../delivery/delivery.js';
import { type SpanTask, spanKey } from '../engine/job.js';
import { type MeasuredDelivery, type MeasureOptions, measureSpansAgain } from '../engine/measure-delivery.js';
import type { WorkPlan } from '../engine/work-plan.js';
import { median } from '../geometry/statistics.js';
import { QUANTA_PER_METRE } from '../measure/contract/measurement.js';
import { fact } from '../measure/fact-types.js';
import type { SurveySample } from '../measure/survey-samples.js';

/** Locations shown for one requirement, and points kept of each. */
const PLACES_EACH = 3;
const KEEP = 400;
/** Points that may be read again for all locations together: a tenth of the delivery, within these bounds. */
const LEAST_POINTS = 2_000_000;
const MOST_POINTS = 40_000_000;
const EVERY_CLASS = Array.from({ length: 256 }, (_, c) => c);

interface Place {
  requirement: number;
  location: Location;
  radius: number;
}

/**
 * Adds cross-sections of the cloud at the worst locations of every requirement that fails. The locations are known only
 * after the verdict, so the spans around them are read again. No figure and no verdict changes.
 */
export async function cutCrossSections(
  plan: WorkPlan,
  delivery: DeliveryFacts,
  measured: MeasuredDelivery,
  judged: readonly JudgedRequirement[],
  options: MeasureOptions,
): Promise<JudgedRequirement[]> {
  const { places, tasks } = withinBudget(plan, measured, placesOf(judged));
  if (places.length === 0) return [...judged];
  const radii = [...new Set(places.map((place) => place.radius))].sort((a, b) => a - b);
  const requests = radii.map((radius) =>
    fact('survey-samples', {
      points: places
        .filter((place) => place.radius === radius)
        .map(({ location: { x, y, z } }) => ({ x, y, z: z ?? 0 })),
      radius,
      classes: EVERY_CLASS,
      most: KEEP,
      keep: KEEP,
    }),
  );
  const facts = await measureSpansAgain(plan, tasks, requests, delivery.passRule, measured, options);
  const crossSections = judged.map((): CrossSectionEvidence[] => []);
  radii.forEach((radius, r) => {
    // A cross-section is an extra: without its points the report goes without it.
    const samples = facts.getOrNull(requests[r]);
    places
      .filter((place) => place.radius === radius)
      .forEach((place, k) => {
        const sample = samples?.at(k);
        if (sample && sample.dx.length > 0) crossSections[place.requirement].push(sectionOf(place, sample, delivery));
      });
  });
  return judged.map((one, i) => ({ ...one, crossSections: inOrderOf(placesOf([one]), crossSections[i]) }));
}

function placesOf(judged: readonly JudgedRequirement[]): Place[] {
  return judged.flatMap(({ verdict }, requirement) => {
    if (verdict.state !== 'fail') return [];
    return verdict.evidence
      .flatMap((e) => (e.kind === 'locations' ? e.items : []))
      .filter((location) => location.crossSectionRadius !== undefined)
      .slice(0, PLACES_EACH)
      .map((location) => ({ requirement, location, radius: Math.round(location.crossSectionRadius! * 10) / 10 }));
  });
}

/** The locations, worst first, whose spans together have no more points than may be read again. */
function withinBudget(
  plan: WorkPlan,
  { boxes }: MeasuredDelivery,
  places: readonly Place[],
): { places: Place[]; tasks: SpanTask[] } {
  const kept: Place[] = [];
  const chosen = new Set<SpanTask>();
  const total = plan.tasks.reduce((sum, task) => sum + task.span.points, 0);
  const budget = Math.min(MOST_POINTS, Math.max(LEAST_POINTS, total / 10));
  let points = 0;
  for (const place of places) {
    const touched = plan.tasks.filter((task) => !chosen.has(task) && touches(boxes.get(spanKey(task)), place));
    const more = touched.reduce((sum, task) => sum + task.span.points, 0);
    if (points + more > budget) continue;
    points += more;
    for (const task of touched) chosen.add(task);
    kept.push(place);
  }
  return { places: kept, tasks: plan.tasks.filter((task) => chosen.has(task)) };
}

function touches(box: Float64Array | undefined, { location: { x, y }, radius }: Place): boolean {
  if (!box) return false;
  const [west, south, , east, north] = box;
  const [centreX, centreY, reach] = [x * QUANTA_PER_METRE, y * QUANTA_PER_METRE, radius * QUANTA_PER_METRE];
  return centreX >= west - reach && centreX <= east + reach && centreY >= south - reach && centreY <= north + reach;
}

function sectionOf({ location, radius }: Place, sample: SurveySample, delivery: DeliveryFacts): CrossSectionEvidence {
  const { dx, dy, pass, found, passes } = sample;
  // Where a place has no height, the middle height of the points around it is used.
  const shift = location.z === undefined ? median(sample.dz) : 0;
  const plane = sample.plane && { ...sample.plane, height: sample.plane.height - shift };
  return {
    kind: 'section',
    title: location.note,
    x: location.x,
    y: location.y,
    z: (location.z ?? 0) + shift,
    radius,
    plane,
    passes: passes.map((key) => passLabel(delivery, key)),
    found,
    dx,
    dy,
    dz: sample.dz.map((v) => v - shift),
    pass,
  };
}

function inOrderOf(places: readonly Place[], sections: readonly CrossSectionEvidence[]): CrossSectionEvidence[] {
  const rank = (s: CrossSectionEvidence) =>
    places.findIndex(({ location }) => location.x === s.x && location.y === s.y);
  return [...sections].sort((a, b) => rank(a) - rank(b));
}
