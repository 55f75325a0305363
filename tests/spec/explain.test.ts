import { describe, expect, it } from 'vitest';
import { type Explainer, explainSpec } from '../../src/spec/explain.js';
import { FRAGMENTS, parseSpec } from './fragments.js';

const explainers = new Map<string, Explainer>([
  [
    'density',
    (requirement) =>
      `at least ${requirement.min} points a square metre in ${Number(requirement.share) * 100} % of cells`,
  ],
  ['voids', () => 'No gap is larger than 1 m2.'],
]);

const text = (extra: object) =>
  explainSpec(
    parseSpec(
      JSON.stringify({
        spec: '1',
        title: 'Quay road',
        requirements: [
          { id: 'DEN-1', check: 'density', min: 400, share: 0.98, zone: 'carriageway' },
          { id: 'GAP-1', check: 'voids', maxArea: 1, level: 'advisory', decision: 'guarded', note: 'Parked cars.' },
        ],
        ...extra,
      }),
      'quay.json',
      FRAGMENTS,
    ),
    explainers,
  );

describe('a spec in plain words', () => {
  it('has one numbered sentence a requirement, with level and zone', () => {
    const lines = text({ crs: { horizontal: 'EPSG:25832', vertical: 'EPSG:5799', unit: 'us-survey-foot' } }).split(
      '\n',
    );
    expect(lines[0]).toBe('Quay road');
    expect(lines[1]).toMatch(/^Acceptance spec quay\.json, SHA-256 [0-9a-f]{64}$/);
    expect(lines.slice(2)).toEqual([
      '',
      'Coordinate system: horizontal coordinates in EPSG:25832, heights in EPSG:5799, unit us survey foot.',
      'Passes: points of the same point source ID belong to one pass.',
      'Lengths are in metres, areas in square metres.',
      '',
      '1. DEN-1 (mandatory, in zone "carriageway"): at least 400 points a square metre in 98 % of cells.',
      '2. GAP-1 (advisory, everywhere): No gap is larger than 1 m2.',
      '   Guarded: passes only if the upper end of the confidence interval is within the limit too.',
      '   Note: Parked cars.',
      '',
      '1 mandatory and 1 advisory. The delivery is accepted when every mandatory one is met.',
      '',
    ]);
  });

  it('names the other rules of passes, and a coordinate system left open', () => {
    expect(text({ passes: { by: 'gps-time-gap', gap: 20 } })).toContain('a new pass begins after 20 s without points');
    expect(text({ passes: { by: 'file' } })).toContain('every file is one pass');
    expect(text({ passes: { by: 'scanner-channel' } })).toContain('the same scanner channel');
    expect(text({ passes: { by: ['point-source-id', 'scanner-channel'] } })).toContain(
      'points belong to one pass if they have the same point source ID and have the same scanner channel.',
    );
    expect(text({ passes: { by: ['gps-time-gap', 'scanner-channel'], gap: 20 } })).toContain(
      'after 20 s without points',
    );
    expect(text({})).toContain('Coordinate system: any; the system stated');
  });

  it('does not stay silent on a check it has no words for', () => {
    const spec = parseSpec(
      JSON.stringify({ spec: '1', title: 'T', requirements: [{ id: 'C', check: 'crs' }] }),
      'a',
      FRAGMENTS,
    );
    expect(() => explainSpec(spec, explainers)).toThrow('no words for the check crs');
  });
});
