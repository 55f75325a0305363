import { Fault } from '../fault.js';
import { type Curve, type CurveVertices, curveVertices } from '../geometry/curve.js';
import { shapeFault } from './file-line.js';

/** An element of a horizontal alignment: its attributes and its points as x, y in the unit of the file. */
export interface GeometryElement {
  kind: string;
  attributes: Readonly<Record<string, string>>;
  line: number;
  points: Record<string, readonly [number, number]>;
}

/** Largest distance of a chord from its curve, metres. */
const CHORD_METRES = 0.001;
/** Distance up to which the end of one element is the begin of the next, metres: files round coordinates. */
const JOINT_METRES = 0.05;
/** A curve of a road or track is wider than this, metres; far below it a file is in another unit than it states. */
const SMALLEST_RADIUS_METRES = 1;

/**
 * The vertices of the elements of an alignment, one after the other, in the unit of the file.
 * @throws Fault `route-shape`, `route-spiral` where an element cannot be computed or does not begin where the one before it ends
 */
export function verticesOf(elements: readonly GeometryElement[], metresPerUnit: number, file: string): CurveVertices {
  const all: CurveVertices = { x: [], y: [], distance: [] };
  for (const [i, element] of elements.entries()) {
    const where = `${file}, line ${element.line}`;
    const [start, end] = [pointOf(element, 'Start', where), pointOf(element, 'End', where)];
    const last = all.x.length - 1;
    if (i > 0)
      refuseGap(
        all.x[last],
        all.y[last],
        start,
        metresPerUnit,
        where,
        'the element does not begin where the one before it ends',
      );
    const own = ownVertices(element, start, end, metresPerUnit, where);
    const k = own.x.length - 1;
    refuseGap(
      own.x[k],
      own.y[k],
      end,
      metresPerUnit,
      where,
      `the ${element.kind} does not reach its End with the radius and length that it states`,
    );
    own.x[k] = end[0];
    own.y[k] = end[1];
    const before = i === 0 ? 0 : all.distance[last];
    for (let v = i === 0 ? 0 : 1; v <= k; v++) {
      all.x.push(own.x[v]);
      all.y.push(own.y[v]);
      all.distance.push(before + own.distance[v]);
    }
  }
  return all;
}

function ownVertices(
  element: GeometryElement,
  start: readonly [number, number],
  end: readonly [number, number],
  metresPerUnit: number,
  where: string,
): CurveVertices {
  if (element.kind === 'Line') {
    const length = Math.hypot(end[0] - start[0], end[1] - start[1]);
    if (length === 0) throw shapeFault('the Line has no length', where);
    return { x: [start[0], end[0]], y: [start[1], end[1]], distance: [0, length] };
  }
  if (element.kind === 'Curve') return trace(arcOf(element, start, end, where), metresPerUnit, where);
  if (element.kind === 'Spiral') return trace(spiralOf(element, start, where), metresPerUnit, where);
  throw shapeFault(`an element of kind ${element.kind} is not read`, where, {
    advice: 'Export the alignment with lines, arcs and clothoids',
  });
}

/** An arc from its begin, end and centre; `rot` says on which side it runs. */
function arcOf(
  element: GeometryElement,
  start: readonly [number, number],
  end: readonly [number, number],
  where: string,
): Curve {
  const { crvType = 'arc' } = element.attributes;
  if (crvType !== 'arc') throw shapeFault('only circular arcs are read', where, { found: crvType });
  const centre = pointOf(element, 'Center', where);
  const sign = turnOf(element, where);
  const from = Math.atan2(start[1] - centre[1], start[0] - centre[0]);
  const to = Math.atan2(end[1] - centre[1], end[0] - centre[0]);
  const turn = ((((to - from) * sign) % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI);
  const radius = Math.hypot(start[0] - centre[0], start[1] - centre[1]);
  const curvature = sign / radius;
  return {
    x: start[0],
    y: start[1],
    heading: from + (sign * Math.PI) / 2,
    startCurvature: curvature,
    endCurvature: curvature,
    length: turn * radius,
  };
}

/** A clothoid from its begin, the intersection of its tangents, its length and the radii at its ends. */
function spiralOf(element: GeometryElement, start: readonly [number, number], where: string): Curve {
  const { spiType, length, radiusStart, radiusEnd } = element.attributes;
  if (spiType !== 'clothoid') {
    throw new Fault({
      code: 'route-spiral',
      what: 'only spirals of type clothoid are read',
      where,
      found: spiType ?? 'no type',
      advice: 'Export the alignment with clothoids, or as a line of vertices',
    });
  }
  const tangent = pointOf(element, 'PI', where);
  const sign = turnOf(element, where);
  const curvature = (text: string | undefined, name: string) => {
    if (text === 'INF') return 0;
    const radius = Number(text);
    if (text !== undefined && radius > 0 && Number.isFinite(radius)) return sign / radius;
    throw spiralFault(`${name} must be a radius or INF`, where, text);
  };
  const along = Number(length);
  if (!(along > 0)) throw spiralFault('the spiral needs a length', where, length);
  if (tangent[0] === start[0] && tangent[1] === start[1])
    throw spiralFault('PI is the same place as Start, so the direction is not known', where, undefined);
  return {
    x: start[0],
    y: start[1],
    heading: Math.atan2(tangent[1] - start[1], tangent[0] - start[0]),
    startCurvature: curvature(radiusStart, 'radiusStart'),
    endCurvature: curvature(radiusEnd, 'radiusEnd'),
    length: along,
  };
}

/** +1 where an element turns left (anticlockwise), -1 where it turns right. */
function turnOf({ attributes: { rot } }: GeometryElement, where: string): 1 | -1 {
  if (rot === 'ccw' || rot === 'cw') return rot === 'ccw' ? 1 : -1;
  throw shapeFault('rot must be cw or ccw', where, { found: rot ?? 'nothing' });
}

function trace(curve: Curve, metresPerUnit: number, where: string): CurveVertices {
  const sharpest = Math.max(Math.abs(curve.startCurvature), Math.abs(curve.endCurvature));
  if (!(curve.length > 0)) throw shapeFault('the element has no length', where);
  if (!(metresPerUnit >= SMALLEST_RADIUS_METRES * sharpest))
    throw shapeFault(`the radius is below ${SMALLEST_RADIUS_METRES} m`, where, {
      advice: 'Correct the radius or the unit of the file',
    });
  if (curve.length * metresPerUnit > 1e6) throw shapeFault('the element is longer than 1,000 km', where);
  return curveVertices(curve, CHORD_METRES / metresPerUnit);
}

function pointOf({ points, kind }: GeometryElement, name: string, where: string): readonly [number, number] {
  const point = points[name];
  if (point) return point;
  throw shapeFault(`the ${kind} has no ${name}`, where);
}

function refuseGap(
  x: number,
  y: number,
  [px, py]: readonly [number, number],
  metresPerUnit: number,
  where: string,
  what: string,
): void {
  const gap = Math.hypot(px - x, py - y) * metresPerUnit;
  if (gap <= JOINT_METRES) return;
  throw shapeFault(what, where, { found: `${gap.toFixed(3)} m apart`, advice: 'Export the alignment again' });
}

function spiralFault(what: string, where: string, found: string | undefined): Fault {
  return new Fault({ code: 'route-spiral', what, where, found: found ?? 'nothing' });
}
