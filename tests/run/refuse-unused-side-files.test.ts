import { describe, expect, it } from 'vitest';
import { fragments } from '../../src/run/check-fragments.js';
import { refuseOptionsWithoutRoute, refuseUnusedSideFiles } from '../../src/run/refuse-unused-side-files.js';
import { parseSpec } from '../../src/spec/load.js';

function specWith(...requirements: Record<string, unknown>[]) {
  const numbered = requirements.map((r, i) => ({ id: `R${i}`, ...r }));
  return parseSpec(JSON.stringify({ spec: '1', title: 'test', requirements: numbered }), 'spec.json', fragments());
}

const density = { check: 'density', min: 100 };

describe('a side file that no requirement uses is refused, with the requirement to add', () => {
  it.each([
    ['points', 'points.csv', /survey points given with --points.*"vertical-accuracy"/],
    ['zones', 'zones.geojson', /zones given with --zones.*"zone": "NAME"/],
    ['tiles', 'tiles.geojson', /tile index given with --tiles.*"tiling", "index": true/],
    ['manifest', 'MANIFEST.sha256', /manifest given with --manifest.*"transfer-integrity"/],
    ['trajectory', 'a.csv', /a.csv: .*trajectory given with --trajectory.*"outages"/],
  ])('%s', (kind, path, sentence) => {
    const given = kind === 'trajectory' ? [path, 'b.csv'] : path;
    expect(() => refuseUnusedSideFiles(specWith(density), { [kind]: given })).toThrow(sentence);
    expect(() => refuseUnusedSideFiles(specWith(density), {})).not.toThrow();
  });

  it.each([
    ['points', { check: 'vertical-accuracy', maxRmse: 0.02 }],
    ['points', { check: 'horizontal-accuracy', maxRmse: 0.02 }],
    ['points', { check: 'accuracy-3d', maxRmse: 0.02 }],
    ['points', { check: 'survey-point-set', minPoints: 3 }],
    ['zones', { ...density, zone: 'road' }],
    ['zones', { check: 'point-attributes', area: 'road' }],
    ['tiles', { check: 'tiling', index: true }],
    ['manifest', { check: 'transfer-integrity' }],
  ])('%s are used by %j', (kind, requirement) => {
    expect(() => refuseUnusedSideFiles(specWith(density, requirement), { [kind]: 'file' })).not.toThrow();
  });

  it('a tile index is not used by tiles of a given size', () => {
    const spec = specWith({ check: 'tiling', size: 50 });
    expect(() => refuseUnusedSideFiles(spec, { tiles: 'tiles.geojson' })).toThrow(/--tiles/);
  });
});

describe('options of a route without a route', () => {
  it.each([
    [{ stationNotation: 'km 3.250' }, /^--station-notation: the option needs a route/],
    [{ sections: 50 }, /^--sections: the option needs a route/],
  ])('%j is refused', (options, sentence) => {
    expect(() => refuseOptionsWithoutRoute(options)).toThrow(sentence);
    expect(() => refuseOptionsWithoutRoute({ ...options, route: 'route.xml' })).not.toThrow();
  });
});
