import { existsSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { standardById, standards, standardsFor } from '../../../src/checks/standards/registry.js';
import { factsOf, pointsOf } from './facts.js';

const file = (path: string) => existsSync(new URL(`../../../${path}`, import.meta.url));

describe('standards of accuracy', () => {
  it.each(standards.map((standard) => [standard.id, standard] as const))(
    '%s is a file of that name with a test, and states with marked sources',
    (id, standard) => {
      expect(file(`src/checks/standards/${id}.ts`)).toBe(true);
      expect(file(`tests/checks/standards/${id}.test.ts`)).toBe(true);
      expect(standardById(id)).toBe(standard);
      for (const aspect of standard.aspects) {
        const tested = pointsOf(50, { rmseX: 0.01, rmseY: 0.01, rmseZ: 0.01, surveyH: 0.001, surveyV: 0.001 });
        const good = standard.statement(factsOf({ aspect, target: 0.05, tested }));
        expect(good.claimed).toBe(true);
        expect(good.standard).toBe(id);
        for (const { what, source } of good.sources) expect(Math.min(what.length, source.length)).toBeGreaterThan(5);
        // The same without a single point: stated, never claimed.
        const none = standard.statement(factsOf({ aspect, target: 0.05 }));
        expect(none.claimed).toBe(false);
        expect(none.sentence).not.toContain('tested to meet');
      }
    },
  );

  it('what each check can be stated by', () => {
    expect(standardsFor('vertical')).toEqual(['asprs-2014', 'asprs-2023', 'nssda-1998', 'usgs-quality-levels']);
    expect(standardsFor('horizontal')).toEqual(['asprs-2014', 'asprs-2023', 'nssda-1998']);
    expect(standardsFor('space')).toEqual(['asprs-2023', 'nchrp-748']);
    expect(standardById('unknown')).toBeNull();
    expect(standardById(undefined)).toBeNull();
  });
});
