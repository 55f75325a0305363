import { readXml, type XmlElement } from '../delivery/xml.js';
import { Fault } from '../fault.js';
import {
  equationsOf,
  type FileLine,
  type RouteFile,
  shapeFault,
  stationFault,
  type WrittenEquation,
} from './file-line.js';
import { type GeometryElement, verticesOf } from './landxml-geometry.js';

/** Metres in the linear units that LandXML 1.2 names (metLinear, impLinear). */
const UNITS: Record<string, number> = {
  millimeter: 0.001,
  centimeter: 0.01,
  meter: 1,
  kilometer: 1000,
  inch: 0.0254,
  foot: 0.3048,
  USSurveyFoot: 1200 / 3937,
  mile: 1609.344,
};

/** Elements of a horizontal alignment (CoordGeom), and the points in them. */
const ELEMENTS = ['Line', 'Curve', 'Spiral', 'IrregularLine', 'Chain'];
const POINTS = ['Start', 'End', 'Center', 'PI'];

interface Alignment {
  attributes: Readonly<Record<string, string>>;
  line: number;
  elements: GeometryElement[];
  equations: Readonly<Record<string, string>>[];
}

/**
 * Horizontal alignments of a LandXML 1.2 text: Line, Curve and Spiral elements and station equations. Points are north first, then
 * east. Curves become chords within 1 mm; distances are along the curve.
 * @throws Fault `xml-syntax`, `landxml-version`, `route-empty`, `route-shape`, `route-spiral`, `route-station`, `route-unit`
 */
export function linesOfLandXml(text: string, where: string, cloudMetresPerUnit: number): RouteFile {
  const { alignments, unit, epsg } = readAlignments(text, where);
  if (alignments.length === 0) {
    const advice = 'Export the horizontal alignment of the road or track';
    throw new Fault({ code: 'route-empty', what: 'the file holds no alignment', where, advice });
  }
  const metresPerUnit = unit ?? cloudMetresPerUnit;
  const notes: string[] = [];
  const lines = alignments.map((alignment, i) => lineOf(alignment, i, where, metresPerUnit, notes));
  return { lines, metresPerUnit: unit, system: epsg === null ? null : `EPSG:${epsg}`, notes };
}

function readAlignments(text: string, where: string) {
  const alignments: Alignment[] = [];
  const path: string[] = [];
  let unit: number | null = null;
  let epsg: string | null = null;
  let element: GeometryElement | null = null;
  let alignment: Alignment | null = null;
  let point = '';
  const inGeometry = () => path.at(-2) === 'CoordGeom' && path.at(-3) === 'Alignment';
  const open = ({ name, attributes, line }: XmlElement) => {
    if (path.length === 0) refuseOtherFormat(name, attributes, where);
    path.push(name);
    if (name === 'Metric' || name === 'Imperial') unit = unitOf(attributes.linearUnit, `${where}, line ${line}`);
    if (name === 'CoordinateSystem' && /^\d+$/.test(attributes.epsgCode ?? '')) epsg = attributes.epsgCode;
    if (name === 'Alignment') {
      alignment = { attributes, line, elements: [], equations: [] };
      alignments.push(alignment);
    }
    if (name === 'StaEquation' && path.at(-2) === 'Alignment') alignment?.equations.push(attributes);
    if (inGeometry() && ELEMENTS.includes(name)) {
      element = { kind: name, attributes, line, points: {} };
      alignment?.elements.push(element);
    }
    if (element && POINTS.includes(name)) {
      if (attributes.pntRef !== undefined)
        throw shapeFault('points by reference (pntRef) are not read', `${where}, line ${line}`, {
          advice: 'Export the alignment with its coordinates',
        });
      point = '';
    }
  };
  readXml(text, where, {
    open,
    text: (piece) => {
      if (element && POINTS.includes(path[path.length - 1])) point += piece;
    },
    close: (name) => {
      path.pop();
      if (!element) return;
      if (POINTS.includes(name)) element.points[name] = pointOf(point, name, `${where}, line ${element.line}`);
      if (name === element.kind && path.at(-1) === 'CoordGeom') element = null;
    },
  });
  return { alignments, unit: unit as number | null, epsg: epsg as string | null };
}

function refuseOtherFormat(name: string, attributes: Readonly<Record<string, string>>, where: string): void {
  const version = attributes.version ?? '';
  if (name === 'LandXML' && /^1\.2\b/.test(version)) return;
  throw new Fault({
    code: 'landxml-version',
    what: name === 'LandXML' ? 'only version 1.2 of LandXML is read' : 'this is not LandXML',
    where,
    found: name === 'LandXML' ? version || 'no version' : `element ${name}`,
    advice: 'Export the alignment as LandXML 1.2',
  });
}

function unitOf(name: string | undefined, where: string): number {
  const metres = UNITS[name ?? ''];
  if (metres !== undefined) return metres;
  throw new Fault({
    code: 'route-unit',
    what: 'the linear unit of the file is not one of LandXML 1.2',
    where,
    found: name ?? 'none',
    expected: Object.keys(UNITS).join(', '),
  });
}

/** Text "north east" or "north east height" as x, y. */
function pointOf(text: string, name: string, where: string): readonly [number, number] {
  const numbers = text.trim().split(/\s+/).map(Number);
  if (numbers.length >= 2 && numbers.length <= 3 && numbers.every(Number.isFinite)) return [numbers[1], numbers[0]];
  throw shapeFault(`${name} is not a north and an east`, where, { found: text.trim() || 'nothing' });
}

function lineOf(
  { attributes, line, elements, equations }: Alignment,
  index: number,
  file: string,
  metresPerUnit: number,
  notes: string[],
): FileLine {
  const name = attributes.name?.trim() || `alignment ${index + 1}`;
  const where = `${file}, line ${line} (${name})`;
  if (elements.length === 0) throw shapeFault('the alignment has no geometry', where);
  const vertices = verticesOf(elements, metresPerUnit, `${file} (${name})`);
  const length = vertices.distance[vertices.distance.length - 1];
  const startStation = numberOf(attributes.staStart ?? '0', 'staStart', where);
  const stated = attributes.length === undefined ? length : numberOf(attributes.length, 'length', where);
  if (Math.abs(stated - length) * metresPerUnit > 0.1)
    notes.push(
      `${name} states a length of ${stated}, but its elements are ${length.toFixed(3)} long; their length is used.`,
    );
  return {
    name,
    where,
    ...vertices,
    startStation,
    equations: equationsOf(
      equations.map((one) => writtenOf(one, where)),
      { startStation, length, metresPerUnit },
      where,
    ),
    direction: null,
    lanes: null,
    plannedPasses: null,
  };
}

/** A StaEquation: staInternal and staAhead are required, staBack and staIncrement are optional (LandXML 1.2). */
function writtenOf(attributes: Readonly<Record<string, string>>, where: string): WrittenEquation {
  const { staInternal, staAhead, staBack, staIncrement = 'increasing' } = attributes;
  if (staInternal === undefined || staAhead === undefined)
    throw stationFault('a station equation needs staInternal and staAhead', where);
  if (staIncrement !== 'increasing' && staIncrement !== 'decreasing')
    throw stationFault('staIncrement must be increasing or decreasing', where, staIncrement);
  return {
    internal: numberOf(staInternal, 'staInternal', where),
    back: staBack === undefined ? null : numberOf(staBack, 'staBack', where),
    ahead: numberOf(staAhead, 'staAhead', where),
    increasing: staIncrement === 'increasing',
  };
}

function numberOf(text: string, name: string, where: string): number {
  const value = Number(text);
  if (text.trim() !== '' && Number.isFinite(value)) return value;
  throw stationFault(`${name} is not a number`, where, text);
}
