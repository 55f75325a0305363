import { describe, expect, test } from 'vitest';
import { joinModules, viewerScript } from '../../../src/report/html/viewer-script.js';

const join = (files: Record<string, string>) => joinModules('/v/main.js', (file) => files[file]);

describe('the viewer as one script', () => {
  test('is a script that a browser can parse, with nothing of modules left', () => {
    const script = viewerScript();
    expect(() => new Function(script)).not.toThrow();
    expect(script).not.toMatch(/^\s*(import|export)\b/m);
    expect(script).not.toContain('sourceMappingURL');
    expect(script.length).toBeLessThan(80_000);
  });

  test('puts what is imported before what imports it, each once', () => {
    const script = join({
      '/v/main.js': "import { a } from './a.js';\nimport { b } from './b.js';\nconst c = a + b;\n",
      '/v/a.js': "import { b } from './b.js';\nexport const a = b + 1;\n",
      '/v/b.js': '/** Two. */\nexport const b = 2;\nexport {};\n//# sourceMappingURL=b.js.map\n',
    });
    expect(script).toBe("(() => {\n'use strict';\nconst b = 2;\nconst a = b + 1;\nconst c = a + b;\n})();\n");
  });

  test('refuses a name that two modules define: they share one scope', () => {
    const files = { '/v/main.js': "import './a.js';\nfunction same() {}\n", '/v/a.js': 'const same = 1;\n' };
    expect(() => join(files)).toThrow('same is defined in /v/a.js and in /v/main.js');
  });

  test.each([
    "import fs from 'node:fs';",
    "import * as a from './a.js';",
    "import { a as b } from './a.js';",
    "export { a } from './a.js';",
    'export default 1;',
  ])('refuses what it cannot join: %s', (line) => {
    expect(() => join({ '/v/main.js': `${line}\n`, '/v/a.js': '' })).toThrow('cannot take');
  });
});
