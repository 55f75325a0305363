// Scenes of the proof: flat parallelograms, upright cylinders and balls of leaves, met by rays. The frame is u along the road,
// v to the left, w up, metres; `toWorld` turns it by an azimuth and moves it to eastings, northings and heights.

/** A scene to which parts are added, and which answers rays. */
function emptyScene() {
  return { faces: [], poles: [], leaves: [], packed: null, ground: () => 0 };
}

/** Adds the parallelogram at `corner` with the edges `first` and `second`, of a LAS class. */
function addFace(scene, corner, first, second, code) {
  const n = cross(first, second);
  const square = dot(n, n);
  // Dual vectors: their products with a place relative to the corner are its shares of the two edges.
  const a = cross(second, n).map((c) => c / square);
  const b = cross(n, first).map((c) => c / square);
  const size = Math.sqrt(square);
  const unit = n.map((c) => c / size);
  scene.faces.push([...unit, dot(unit, corner), ...a, dot(a, corner), ...b, dot(b, corner), code]);
}

/** A street: carriageway, kerbs, pavements, houses with walls along and across, poles, bushes; all by `options`. */
export function street(options, random) {
  const scene = emptyScene();
  const length = options.length ?? 40;
  const half = 4;
  const grade = options.grade ?? 0.015;
  const fall = options.crossfall ?? 0.025;
  const kerb = options.kerb === false ? 0 : 0.12;
  const from = -length / 2 - 5;
  const along = length + 10;
  const edge = -fall * half;
  const strip = (v, w, width, rise, code) =>
    addFace(scene, [from, v, grade * from + w], [along, 0, grade * along], [0, width, width * rise], code);
  strip(0, 0, half, -fall, 11);
  strip(0, 0, -half, fall, 11);
  scene.ground = (u, v) => grade * u - fall * Math.abs(v);
  const side = options.quay ? 6 : 12;
  for (const sign of [1, -1]) {
    if (kerb > 0) addFace(scene, [from, sign * half, grade * from + edge], [along, 0, grade * along], [0, 0, kerb], 2);
    strip(sign * half, edge + kerb, sign * (sign < 0 ? side : 12), 0.02 * sign, 2);
  }
  // A quay wall goes down to water, which gives no return.
  if (options.quay) addFace(scene, [from, -half - side, grade * from + edge - 2.5], [along, 0, 0], [0, 0, 2.7], 6);
  if (options.rails) addRails(scene, from, along, grade);
  if (options.tunnel) addTunnel(scene, from, along, grade);
  if (options.walls) addHouses(scene, options, random, from, length, half, (sign) => !(options.quay && sign < 0));
  if (options.poles !== false)
    for (let u = -length / 2 + 3; u < length / 2; u += 14)
      for (const sign of [1, -1]) scene.poles.push([u, sign * (half + 0.6), 0.09, grade * u + 6]);
  for (let k = 0; k < (options.bushes ?? 0); k++) {
    const u = random.between(-length / 2, length / 2);
    scene.leaves.push([u, random.pick([1, -1]) * (half + 1.6), grade * u + 1.2, random.between(0.4, 0.9)]);
  }
  return scene;
}

/** Houses of 6 to 10 m with gaps: front walls along the road and side walls across it. */
function addHouses(scene, options, random, from, length, half, wanted) {
  for (const sign of [1, -1]) {
    if (!wanted(sign)) continue;
    for (let u = from + 5; u < from + 5 + length; ) {
      const width = options.onFaces ? 8 : random.between(6, 10);
      const v = sign * (half + (options.onFaces ? 4 : 3.2 + random.between(0, 1.2)));
      addFace(scene, [u, v, -3], [width, 0, 0], [0, 0, 12], 6);
      if (options.walls !== 'along') {
        addFace(scene, [u, v, -3], [0, sign * 6, 0], [0, 0, 12], 6);
        addFace(scene, [u + width, v, -3], [0, sign * 6, 0], [0, 0, 12], 6);
      }
      u += width + (options.onFaces ? 3 : random.between(2, 4));
    }
  }
}

/** A bed for rails: two rails 70 mm wide and 170 mm high, 1.435 m apart, and sleepers of 40 mm every 0.6 m. */
function addRails(scene, from, along, grade) {
  for (const v of [-0.7525, 0.7525]) {
    const w = grade * from + 0.1;
    addFace(scene, [from, v - 0.035, w], [along, 0, grade * along], [0, 0.07, 0], 10);
    addFace(scene, [from, v - 0.035, w - 0.17], [along, 0, grade * along], [0, 0, 0.17], 10);
    addFace(scene, [from, v + 0.035, w - 0.17], [along, 0, grade * along], [0, 0, 0.17], 10);
  }
  for (let u = from; u < from + along; u += 0.6)
    addFace(scene, [u, -1.3, grade * u - 0.02], [0.26, 0, 0.26 * grade], [0, 2.6, 0], 2);
}

/** A tunnel of five flat sides over the whole length. */
function addTunnel(scene, from, along, grade) {
  const outline = [
    [-5.2, -0.5],
    [-5.2, 3.2],
    [-3.2, 5.4],
    [3.2, 5.4],
    [5.2, 3.2],
    [5.2, -0.5],
  ];
  for (let k = 0; k + 1 < outline.length; k++) {
    const [v, w] = outline[k];
    const [toV, toW] = outline[k + 1];
    addFace(scene, [from, v, grade * from + w], [along, 0, grade * along], [0, toV - v, toW - w], 6);
  }
}

/** First hit of a ray within `most` metres: distance and class, class 0 for nothing. Leaves give their own hit. */
export function meet(scene, o, d, most, hit, random) {
  scene.packed ??= Float64Array.from(scene.faces.flat());
  const f = scene.packed;
  let best = most;
  hit.code = 0;
  for (let k = 0; k < f.length; k += 13) {
    const speed = f[k] * d[0] + f[k + 1] * d[1] + f[k + 2] * d[2];
    const t = (f[k + 3] - f[k] * o[0] - f[k + 1] * o[1] - f[k + 2] * o[2]) / speed;
    if (!(t > 1 && t < best)) continue;
    const x = o[0] + t * d[0];
    const y = o[1] + t * d[1];
    const z = o[2] + t * d[2];
    const a = f[k + 4] * x + f[k + 5] * y + f[k + 6] * z - f[k + 7];
    if (a < 0 || a > 1) continue;
    const b = f[k + 8] * x + f[k + 9] * y + f[k + 10] * z - f[k + 11];
    if (b < 0 || b > 1) continue;
    best = t;
    hit.code = f[k + 12];
  }
  for (const [u, v, radius, top] of scene.poles) {
    const t = cylinder(o, d, u, v, radius);
    if (t > 1 && t < best && o[2] + t * d[2] < top) {
      best = t;
      hit.code = 1;
    }
  }
  hit.distance = best;
  hit.leaf = 0;
  for (const [u, v, w, radius] of scene.leaves) {
    const px = u - o[0];
    const py = v - o[1];
    const pz = w - o[2];
    const middle = px * d[0] + py * d[1] + pz * d[2];
    const reach = radius * radius - (px * px + py * py + pz * pz - middle * middle);
    if (reach <= 0) continue;
    // Light goes 0.8 m into leaves on average before it meets one.
    const t = middle - Math.sqrt(reach) - 0.8 * Math.log(random.uniform());
    if (t > 1 && t < middle + Math.sqrt(reach) && t < best && (hit.leaf === 0 || t < hit.leaf)) hit.leaf = t;
  }
}

function cylinder(o, d, u, v, radius) {
  const px = o[0] - u;
  const py = o[1] - v;
  const a = d[0] * d[0] + d[1] * d[1];
  const b = px * d[0] + py * d[1];
  const root = b * b - a * (px * px + py * py - radius * radius);
  return root <= 0 ? -1 : (-b - Math.sqrt(root)) / a;
}

function cross(a, b) {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}

function dot(a, b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
