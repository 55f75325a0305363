/**
 * Universal transverse Mercator on GRS 1980, north: the series of L. Krüger (1912) in the third flattening, to the sixth
 * order, as printed in C. F. F. Karney, Transverse Mercator with an accuracy of a few nanometers (Journal of Geodesy 85, 2011),
 * equations 35 and 36; here to the fourth order, which leaves less than a micrometre. Written for tests, apart from the program's own.
 */
const A = 6_378_137;
const F = 1 / 298.257222101;
const K0 = 0.9996;
const N = F / (2 - F);
const E = Math.sqrt(F * (2 - F));
const RADIUS = (A / (1 + N)) * (1 + N ** 2 / 4 + N ** 4 / 64);
const ALPHA = [
  N / 2 - (2 / 3) * N ** 2 + (5 / 16) * N ** 3 + (41 / 180) * N ** 4,
  (13 / 48) * N ** 2 - (3 / 5) * N ** 3 + (557 / 1440) * N ** 4,
  (61 / 240) * N ** 3 - (103 / 140) * N ** 4,
  (49_561 / 161_280) * N ** 4,
];
const BETA = [
  N / 2 - (2 / 3) * N ** 2 + (37 / 96) * N ** 3 - (1 / 360) * N ** 4,
  (1 / 48) * N ** 2 + (1 / 15) * N ** 3 - (437 / 1440) * N ** 4,
  (17 / 480) * N ** 3 - (37 / 840) * N ** 4,
  (4397 / 161_280) * N ** 4,
];
const meridian = (zone: number) => ((zone * 6 - 183) * Math.PI) / 180;

/** Tangent of the conformal latitude from that of the latitude. */
function conformal(tau: number): number {
  const sigma = Math.sinh(E * Math.atanh((E * tau) / Math.sqrt(1 + tau * tau)));
  return tau * Math.sqrt(1 + sigma * sigma) - sigma * Math.sqrt(1 + tau * tau);
}

function forward(zone: number, longitude: number, latitude: number): [number, number] {
  const tau = conformal(Math.tan(latitude));
  const lambda = longitude - meridian(zone);
  const xi0 = Math.atan2(tau, Math.cos(lambda));
  const eta0 = Math.asinh(Math.sin(lambda) / Math.hypot(tau, Math.cos(lambda)));
  let [xi, eta] = [xi0, eta0];
  ALPHA.forEach((alpha, i) => {
    const j = 2 * (i + 1);
    xi += alpha * Math.sin(j * xi0) * Math.cosh(j * eta0);
    eta += alpha * Math.cos(j * xi0) * Math.sinh(j * eta0);
  });
  return [500_000 + K0 * RADIUS * eta, K0 * RADIUS * xi];
}

function inverse(zone: number, x: number, y: number): [number, number] {
  const [xi, eta] = [y / (K0 * RADIUS), (x - 500_000) / (K0 * RADIUS)];
  let [xi0, eta0] = [xi, eta];
  BETA.forEach((beta, i) => {
    const j = 2 * (i + 1);
    xi0 -= beta * Math.sin(j * xi) * Math.cosh(j * eta);
    eta0 -= beta * Math.cos(j * xi) * Math.sinh(j * eta);
  });
  const wanted = Math.sin(xi0) / Math.hypot(Math.sinh(eta0), Math.cos(xi0));
  const lambda = Math.atan2(Math.sinh(eta0), Math.cos(xi0));
  let tau = wanted;
  for (let k = 0; k < 5; k++) {
    const step = 1e-6 * Math.max(1, Math.abs(tau));
    const slope = (conformal(tau + step) - conformal(tau - step)) / (2 * step);
    tau -= (conformal(tau) - wanted) / slope;
  }
  return [meridian(zone) + lambda, Math.atan(tau)];
}

/** Longitude and latitude in radians, easting and northing in metres. */
export const utm = { forward, inverse };
