import { describe, expect, test } from 'vitest';
import { viewerScript } from '../../../src/report/html/viewer-script.js';

describe('the viewer as one script', () => {
  test('is a script that a browser can parse, with nothing of modules left', () => {
    const script = viewerScript();
    expect(() => new Function(script)).not.toThrow();
    expect(script).not.toMatch(/^\s*(import|export)\b/m);
    expect(script).not.toContain('sourceMappingURL');
    expect(script.length).toBeLessThan(40_000);
  });
});
