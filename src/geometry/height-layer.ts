/**
 * The start of a robust height fit: the horizontal layer that holds most of the surface at the survey point. A surface is
 * weighted by the horizontal area it covers, not by its number of points, so that a dense car roof or leaf close to the
 * scanner is not preferred; area near the survey point has a larger weight than area at the edge of the radius.
 */
export interface LayerOptions {
  layerMetres: number;
  clearanceMetres: number;
}

/** Horizontal cells per radius. */
const CELLS_ACROSS = 5;
/** Weight of a surface at the edge of the radius, relative to one at the centre. */
const RIM_WEIGHT = 0.05;
/** When a lower layer has points under at least this share of the upper one, the upper one is an overhang. */
const BENEATH_SHARE = 0.5;

/** First index and end index (exclusive) of the layer, in points sorted by rising z. */
export interface Layer {
  begin: number;
  end: number;
}

/**
 * The layer of `layerMetres` height with the largest weight; among equals the lowest. When another layer, at least
 * `clearanceMetres` lower, has points under half or more of its area, the lower one is used: leaves, wires and decks
 * overhang the ground, the top of a wall beside lower ground does not. Points must be sorted by z.
 */
export function findSurfaceLayer(x: Float64Array, y: Float64Array, z: Float64Array, options: LayerOptions): Layer {
  const n = z.length;
  let radius = 0;
  for (let i = 0; i < n; i++) radius = Math.max(radius, Math.sqrt(x[i] * x[i] + y[i] * y[i]));
  const side = 2 * CELLS_ACROSS + 1;
  const cell = new Int32Array(n);
  const crowd = new Float64Array(side * side);
  const worth = new Float64Array(side * side);
  const scale = radius > 0 ? CELLS_ACROSS / radius : 0;
  for (let i = 0; i < n; i++) {
    cell[i] = (Math.round(y[i] * scale) + CELLS_ACROSS) * side + Math.round(x[i] * scale) + CELLS_ACROSS;
    crowd[cell[i]]++;
  }
  for (let k = 0; k < worth.length; k++) {
    const column = (k % side) - CELLS_ACROSS;
    const row = Math.floor(k / side) - CELLS_ACROSS;
    worth[k] = Math.max(0, 1 - (column * column + row * row) / (CELLS_ACROSS * CELLS_ACROSS)) + RIM_WEIGHT;
  }
  const running = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) running[i + 1] = running[i] + worth[cell[i]] / crowd[cell[i]];

  const best = heaviestLayer(z, running, options.layerMetres, n);
  let chosen = best;
  let upTo = firstAbove(z, z[best.begin] - options.clearanceMetres);
  while (upTo > 0) {
    const lower = heaviestLayer(z, running, options.layerMetres, upTo);
    if (shareBeneath(cell, worth, chosen, lower) < BENEATH_SHARE) break;
    chosen = lower;
    upTo = firstAbove(z, z[lower.begin] - options.clearanceMetres);
  }
  return chosen;
}

function heaviestLayer(z: Float64Array, running: Float64Array, height: number, count: number): Layer {
  const best: Layer = { begin: 0, end: 0 };
  let most = -1;
  let end = 0;
  for (let begin = 0; begin < count; begin++) {
    while (end < count && z[end] <= z[begin] + height) end++;
    const weight = running[end] - running[begin];
    if (weight > most) {
      most = weight;
      best.begin = begin;
      best.end = end;
    }
  }
  return best;
}

/** Number of leading points not above the height. */
function firstAbove(z: Float64Array, height: number): number {
  let at = 0;
  while (at < z.length && z[at] <= height) at++;
  return at;
}

/** Share of the upper layer's area in which the lower layer has points too. */
function shareBeneath(cell: Int32Array, worth: Float64Array, upper: Layer, lower: Layer): number {
  const seen = new Uint8Array(worth.length);
  for (let i = lower.begin; i < lower.end; i++) seen[cell[i]] = 1;
  let all = 0;
  let both = 0;
  const counted = new Uint8Array(worth.length);
  for (let i = upper.begin; i < upper.end; i++) {
    const k = cell[i];
    if (counted[k]) continue;
    counted[k] = 1;
    all += worth[k];
    if (seen[k]) both += worth[k];
  }
  return all > 0 ? both / all : 0;
}
