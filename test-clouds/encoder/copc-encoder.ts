import {
  buildEvlr,
  buildVlr,
  compressedHeader,
  joinBytes,
  type LasImage,
  moveTail,
  readLasImage,
} from '../../src/simulate/encoder/las-image.js';
import {
  type ChunkPlace,
  encodeChunkTable,
  encodeRecords,
  lazVlr,
  tablePointer,
} from '../../src/simulate/encoder/laz-encoder.js';

/** Options of the COPC encoder. */
export interface CopcOptions {
  /** Most points a node. */
  nodePoints?: number;
  /** Lets formats pass that COPC does not allow: they are refused otherwise. */
  unsound?: boolean;
  /** Levels that a hierarchy page holds before it refers to a further one; one page for all by default. */
  pageLevels?: number;
}

/** Points along a side that a node is meant to hold, by which the spacing is told (as usual with octrees of points). */
const GRID = 128;
const INFO_BYTES = 160;
const ENTRY_BYTES = 32;
/** Deep enough for any cloud; below it nodes take as many points as come. */
const DEEPEST = 20;
const VARIABLE = 0xffffffff;

interface Node {
  key: [level: number, x: number, y: number, z: number];
  points: number[];
  children: (Node | undefined)[];
  /** Offset and size of the chunk once it is placed. */
  place?: ChunkPlace;
}

interface Cube {
  center: [number, number, number];
  halfsize: number;
}

/**
 * Writes a LAS 1.4 file of format 6, 7 or 8 as COPC 1.0 (https://copc.io): an octree of nodes, each a LAZ chunk, coarse
 * ones first. Which points stay in coarse nodes is pseudo-random, but the same each time.
 */
export function encodeCopc(las: Uint8Array, options: CopcOptions = {}): Uint8Array {
  const image = readLasImage(las);
  if (image.minor !== 4 || image.headerSize !== 375) throw new Error('COPC is made from LAS 1.4');
  if (!options.unsound && (image.parts.format < 6 || image.parts.format > 8))
    throw new Error('COPC has formats 6, 7 and 8 only');
  const coordinates = createCoordinates(image);
  const cube = cubeAround(image, coordinates);
  const root = fillOctree(image.count, coordinates, cube, options.nodePoints ?? 5_000);
  const nodes = nodesInOrder(root);

  const info = buildVlr('copc', 1, 'COPC info', new Uint8Array(INFO_BYTES));
  const vlrs = [info, ...image.vlrs, lazVlr(image.parts, VARIABLE, 3)];
  const pointOffset = image.headerSize + joinBytes(vlrs).length;
  let at = pointOffset + 8;
  const chunks: Uint8Array[] = [];
  for (const node of nodes) {
    if (node.points.length === 0) continue;
    const chunk = encodeRecords(gatherRecords(image, node.points), image.parts, 3);
    chunks.push(chunk);
    node.place = { begin: at, end: at + chunk.length, points: node.points.length };
    at += chunk.length;
  }
  const places = nodes.flatMap((node) => node.place ?? []);
  const table = encodeChunkTable(places, true);
  const tailAt = at + table.length;
  const evlrAt = tailAt + image.tail.length;
  const pages = encodeHierarchy(root, options.pageLevels ?? DEEPEST + 1, evlrAt + 60);
  writeInfo(info.subarray(54), image, cube, evlrAt + 60 + pages.rootOffset, pages.rootSize);
  const header = compressedHeader(image, vlrs, pointOffset);
  moveTail(image, header, tailAt, 1);
  const hierarchy = buildEvlr('copc', 1000, 'COPC hierarchy', pages.bytes);
  return joinBytes([header, ...vlrs, tablePointer(at), ...chunks, table, image.tail, hierarchy]);
}

type Coordinates = (point: number, axis: number) => number;

function createCoordinates(image: LasImage): Coordinates {
  const { view, points, parts } = image;
  const scale = [0, 1, 2].map((axis) => view.getFloat64(131 + 8 * axis, true));
  const offset = [0, 1, 2].map((axis) => view.getFloat64(155 + 8 * axis, true));
  return (point, axis) => points.getInt32(point * parts.recordLength + 4 * axis, true) * scale[axis] + offset[axis];
}

/** The smallest cube around all points that is centred on their box. */
function cubeAround(image: LasImage, coordinates: Coordinates): Cube {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < image.count; i++) {
    for (let axis = 0; axis < 3; axis++) {
      low[axis] = Math.min(low[axis], coordinates(i, axis));
      high[axis] = Math.max(high[axis], coordinates(i, axis));
    }
  }
  const center = [0, 1, 2].map((axis) => (low[axis] + high[axis]) / 2) as Cube['center'];
  const halfsize = Math.max(...[0, 1, 2].map((axis) => high[axis] - center[axis]), 0.001) * 1.000001;
  return { center, halfsize };
}

/** Each point goes to the coarsest node on its way down that has room left. */
function fillOctree(count: number, coordinates: Coordinates, cube: Cube, nodePoints: number): Node {
  const root: Node = { key: [0, 0, 0, 0], points: [], children: [] };
  const low = cube.center.map((c) => c - cube.halfsize);
  for (const point of shuffled(count)) {
    let node = root;
    while (node.points.length >= nodePoints && node.key[0] < DEEPEST) {
      const [level, x, y, z] = node.key;
      const size = (2 * cube.halfsize) / 2 ** (level + 1);
      const [cx, cy, cz] = [0, 1, 2].map((axis) => Math.floor((coordinates(point, axis) - low[axis]) / size));
      const which = (cx & 1) | ((cy & 1) << 1) | ((cz & 1) << 2);
      node.children[which] ??= {
        key: [level + 1, 2 * x + (cx & 1), 2 * y + (cy & 1), 2 * z + (cz & 1)],
        points: [],
        children: [],
      };
      node = node.children[which] as Node;
    }
    node.points.push(point);
  }
  return root;
}

/** All numbers below `count` once, in an order without pattern: steps by a number that has no divisor in common with it. */
function* shuffled(count: number): Generator<number> {
  const divisor = (a: number, b: number): number => (b === 0 ? a : divisor(b, a % b));
  let step = Math.max(1, Math.round(count * 0.6180339887));
  while (divisor(count, step) !== 1) step++;
  for (let i = 0, point = 0; i < count; i++, point = (point + step) % count) yield point;
}

/** Coarse nodes first. */
function nodesInOrder(root: Node): Node[] {
  const nodes = [root];
  for (const node of nodes) for (const child of node.children) if (child !== undefined) nodes.push(child);
  return nodes;
}

/** Points of a node in the order of the file, so that neighbours in time stay neighbours. */
function gatherRecords(image: LasImage, numbers: readonly number[]): DataView {
  const length = image.parts.recordLength;
  const { points } = image;
  const records = new Uint8Array(numbers.length * length);
  for (const [i, point] of [...numbers].sort((a, b) => a - b).entries()) {
    records.set(new Uint8Array(points.buffer, points.byteOffset + point * length, length), i * length);
  }
  return new DataView(records.buffer);
}

/** Pages of 32 bytes an entry. Pages further down come first, since those above must know where they lie. */
function encodeHierarchy(
  root: Node,
  pageLevels: number,
  payloadAt: number,
): { bytes: Uint8Array; rootOffset: number; rootSize: number } {
  const pages: Uint8Array[] = [];
  let length = 0;
  const writePage = (top: Node): { offset: number; size: number } => {
    const entries: { key: Node['key']; offset: number; size: number; points: number }[] = [];
    const visit = (node: Node): void => {
      if (node.key[0] - top.key[0] === pageLevels) {
        const page = writePage(node);
        entries.push({ key: node.key, offset: payloadAt + page.offset, size: page.size, points: -1 });
        return;
      }
      const { place } = node;
      entries.push({
        key: node.key,
        offset: place?.begin ?? 0,
        size: place === undefined ? 0 : place.end - place.begin,
        points: node.points.length,
      });
      for (const child of node.children) if (child !== undefined) visit(child);
    };
    visit(top);
    const page = new Uint8Array(entries.length * ENTRY_BYTES);
    const view = new DataView(page.buffer);
    for (const [i, entry] of entries.entries()) {
      for (let k = 0; k < 4; k++) view.setInt32(i * ENTRY_BYTES + 4 * k, entry.key[k], true);
      view.setBigUint64(i * ENTRY_BYTES + 16, BigInt(entry.offset), true);
      view.setInt32(i * ENTRY_BYTES + 24, entry.size, true);
      view.setInt32(i * ENTRY_BYTES + 28, entry.points, true);
    }
    const offset = length;
    pages.push(page);
    length += page.length;
    return { offset, size: page.length };
  };
  const { offset, size } = writePage(root);
  return { bytes: joinBytes(pages), rootOffset: offset, rootSize: size };
}

/** The 160 bytes of the COPC info record. */
function writeInfo(payload: Uint8Array, image: LasImage, cube: Cube, pageAt: number, pageSize: number): void {
  const view = new DataView(payload.buffer, payload.byteOffset, INFO_BYTES);
  const { points, parts } = image;
  let first = Infinity;
  let last = -Infinity;
  for (let i = 0; i < image.count; i++) {
    const time = points.getFloat64(i * parts.recordLength + parts.time, true);
    first = Math.min(first, time);
    last = Math.max(last, time);
  }
  for (let axis = 0; axis < 3; axis++) view.setFloat64(8 * axis, cube.center[axis], true);
  view.setFloat64(24, cube.halfsize, true);
  view.setFloat64(32, (2 * cube.halfsize) / GRID, true);
  view.setBigUint64(40, BigInt(pageAt), true);
  view.setBigUint64(48, BigInt(pageSize), true);
  view.setFloat64(56, image.count > 0 ? first : 0, true);
  view.setFloat64(64, image.count > 0 ? last : 0, true);
}
