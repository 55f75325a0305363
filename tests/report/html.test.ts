import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { planExtent } from '../../src/report/html/map-data.js';
import { STYLE } from '../../src/report/html/style.js';
import { reportHtml } from '../../src/report/html.js';
import { reportJson } from '../../src/report/json.js';
import { type Element, everyElement, readMarkup } from './markup-reader.js';
import { acceptedQuayRoad, HOSTILE, quayRoad } from './sample.js';

const source = reportHtml(quayRoad());
const page = readMarkup(source, 'html');
const elements = everyElement(page);
const withTag = (tag: string, among: Element[] = elements) => among.filter((element) => element.tag === tag);
/** Scripts that run: those of a type a browser does not know are data (HTML standard, script element, "data block"). */
const running = (among: Element[] = elements) =>
  withTag('script', among).filter((e) => e.attributes.type === undefined);

describe('the page is closed to the outside', () => {
  const policy =
    elements.find((e) => e.attributes['http-equiv'] === 'Content-Security-Policy')?.attributes.content ?? '';

  test('nothing loads: default-src none, and style and script known by hash (W3C CSP Level 3, hash-source)', () => {
    const [style] = withTag('style');
    const [script] = running();
    const hash = (text: string) => `'sha256-${createHash('sha256').update(text).digest('base64')}'`;
    expect(policy.split('; ')).toEqual([
      "default-src 'none'",
      `style-src ${hash(style.text)}`,
      `script-src ${hash(script.text)}`,
      "base-uri 'none'",
      "form-action 'none'",
    ]);
  });

  test('the policy stands before anything it must govern', () => {
    expect(source.indexOf('Content-Security-Policy')).toBeLessThan(source.indexOf('<style>'));
  });

  test('one style, one script, no inline style or handler, no address but fragments of the page', () => {
    expect(withTag('style')).toHaveLength(1);
    expect(running()).toHaveLength(1);
    for (const data of withTag('script').filter((e) => e.attributes.type !== undefined)) {
      expect(data.attributes.type).toMatch(/^application\/(json|octet-stream)$/);
      expect(data.text).not.toContain('<');
    }
    for (const element of elements) {
      for (const [name, value] of Object.entries(element.attributes)) {
        expect(name).not.toMatch(/^(on|style$|src|xlink)/);
        if (name === 'href') expect(value).toMatch(/^#[a-z0-9-]+$/);
      }
    }
    for (const tag of ['img', 'link', 'iframe', 'object', 'base', 'form']) expect(withTag(tag)).toHaveLength(0);
  });

  test('style and script hold nothing from the report and cannot be closed early', () => {
    const other = everyElement(readMarkup(reportHtml(acceptedQuayRoad()), 'html'));
    expect(withTag('style', other)[0].text).toBe(withTag('style')[0].text);
    expect(running(other)[0].text).toBe(running()[0].text);
    expect(running()[0].text).not.toMatch(/<\/|<!--/);
    expect(withTag('style')[0].text).not.toMatch(/url\(|@import|<\//);
  });
});

describe('text from the delivery stays text', () => {
  test('hostile names are shown as they are and never as markup', () => {
    expect(page.text).toContain(HOSTILE.file);
    expect(page.text).toContain(HOSTILE.wkt);
    expect(page.text).toContain('<b>CP04</b>');
    expect(withTag('b')).toHaveLength(0);
    expect(source).not.toContain('<script>alert');
    expect(source).not.toContain('<img');
    // biome-ignore lint/suspicious/noControlCharactersInRegex: looking for exactly these
    expect(source).not.toMatch(/[\u0000-\u0008\u001b]/);
  });

  test('every text field of the report survives a hostile string', () => {
    const FIXED_WORDS = [
      'verdict',
      'level',
      'decision',
      'role',
      'status',
      'severity',
      'report',
      'group',
      'sense',
      'data',
    ];
    const attack = '"\'><script>alert(9)</script><x y="';
    const poison = (value: unknown, key = ''): unknown => {
      if (typeof value === 'string') return FIXED_WORDS.includes(key) ? value : attack;
      if (Array.isArray(value)) return value.map((item) => poison(item, key));
      if (value === null || typeof value !== 'object') return value;
      return Object.fromEntries(Object.entries(value).map(([name, item]) => [name, poison(item, name)]));
    };
    const poisoned = everyElement(readMarkup(reportHtml(poison(quayRoad()) as ReturnType<typeof quayRoad>), 'html'));
    expect(running(poisoned)).toHaveLength(1);
    expect(withTag('x', poisoned)).toHaveLength(0);
    expect(poisoned[0].text).toContain(attack);
  });
});

describe('what a reader finds', () => {
  test('the verdict in words comes first', () => {
    const main = withTag('main')[0];
    expect(main.text.replace(/\s+/g, ' ')).toMatch(
      /^ ?Quay road as-built capture: acceptance report ✗ Rejected 2 of 5 mandatory requirements not met/,
    );
    expect(withTag('title')[0].text).toBe('Rejected: Quay road as-built capture');
  });

  test('every requirement has its line, its verdict in words and its own part', () => {
    const report = quayRoad();
    report.requirements.forEach((requirement, i) => {
      const article = elements.find((e) => e.attributes.id === `requirement-${i + 1}`);
      expect(article?.text).toContain(requirement.summary);
      for (const line of requirement.advice) expect(article?.text).toContain(line);
      for (const { title, text } of requirement.causes) expect(article?.text).toContain(`${title}: ${text}`);
      expect(elements.filter((e) => e.attributes.href === `#requirement-${i + 1}`)).toHaveLength(1);
    });
    const chips = elements.filter((e) => e.attributes.class?.startsWith('chip ')).map((e) => e.text);
    expect(new Set(chips)).toEqual(
      new Set(['✓ met', '✗ not met', '? undetermined', '! advisory, not met', '- not applicable']),
    );
  });

  test('a share just below its limit never reads as equal to it', () => {
    const article = elements.find((e) => e.attributes.id === 'requirement-3');
    expect(article?.text).toContain('97.996 %');
    expect(article?.text).toContain('98.000 %');
  });

  test('an axis that the surfaces do not constrain shows no number', () => {
    expect(page.text).toContain('x not observable');
    expect(page.text).toContain('y +3.1 ± 1.4');
  });

  test('the page names the report.json it was made from', () => {
    expect(page.text).toContain(createHash('sha256').update(reportJson(quayRoad())).digest('hex'));
  });

  test('the same report gives the same bytes', () => {
    expect(reportHtml(quayRoad())).toBe(source);
  });

  test('one place far away does not make the map of everything else small', () => {
    const report = quayRoad();
    const near = planExtent(report)!;
    const far = { x: near[2] + 50_000, y: near[3], value: 0, unit: 'm' as const, note: 'where a drive ended' };
    report.requirements[0].locations.push(far);
    expect(planExtent(report)).toEqual(near);
    // Without points there is nothing else to show it beside.
    report.delivery.extent = null;
    expect(planExtent(report)![2]).toBe(far.x);
  });

  test('an empty delivery gives a page all the same', () => {
    const empty = { ...acceptedQuayRoad(), requirements: [], files: [], passes: [], passPairs: [], surveyPoints: [] };
    empty.delivery = { ...empty.delivery, files: 0, points: 0, bytes: 0, extent: null };
    expect(readMarkup(reportHtml(empty), 'html').text).toContain('no point was read');
  });
});

describe('accessible (WCAG 2.1)', () => {
  test('headings go down one level at a time (common practice, technique H42)', () => {
    const levels = elements.filter((e) => /^h[1-6]$/.test(e.tag)).map((e) => Number(e.tag[1]));
    expect(levels[0]).toBe(1);
    levels.forEach((level, i) => {
      if (i > 0) expect(level - levels[i - 1]).toBeLessThanOrEqual(1);
    });
  });

  test('tables have captions and their headings a scope (techniques H39, H63)', () => {
    for (const table of withTag('table')) {
      expect(table.children[0].tag).toBe('caption');
      for (const th of withTag('th', everyElement(table))) expect(th.attributes.scope).toMatch(/^(col|row)$/);
    }
  });

  test('pictures are named, ids are not given twice, the language is stated', () => {
    for (const svg of withTag('svg')) {
      expect(svg.attributes.role).toBe('img');
      expect(svg.attributes['aria-label']).not.toBe('');
      expect(JSON.stringify(svg)).not.toContain('NaN');
    }
    const ids = elements.flatMap((e) => e.attributes.id ?? []);
    expect(new Set(ids).size).toBe(ids.length);
    expect(page.attributes.lang).toBe('en');
  });

  // Relative luminance and contrast ratio as defined in WCAG 2.1; 4.5 to 1 is success criterion 1.4.3 (AA).
  const luminance = (colour: string) => {
    const full = colour.length === 4 ? `#${[...colour.slice(1)].map((c) => c + c).join('')}` : colour;
    const [r, g, b] = [1, 3, 5].map((i) => {
      const c = Number.parseInt(full.slice(i, i + 2), 16) / 255;
      return c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const contrast = (a: string, b: string) => {
    const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y);
    return (high + 0.05) / (low + 0.05);
  };
  const palettes = [...STYLE.matchAll(/:root\{([^}]*)\}/g)].map(
    ([, body]) =>
      Object.fromEntries(
        [...body.matchAll(/--([\w-]+):(#[0-9a-f]+)/g)].map(([, name, value]) => [name, value]),
      ) as Record<string, string>,
  );

  test.each([
    ['light', 0],
    ['dark', 1],
    ['print', 2],
  ])('text contrast is at least 4.5 to 1: %s', (_, index) => {
    const palette = palettes[index];
    expect(contrast('#000', '#fff')).toBeCloseTo(21, 6);
    for (const ground of ['page', 'sheet', 'faint']) {
      for (const ink of ['ink', 'soft'])
        expect(contrast(palette[ink], palette[ground]), `${ink} on ${ground}`).toBeGreaterThanOrEqual(4.5);
    }
    for (const tone of ['good', 'bad', 'open', 'advisory', 'quiet']) {
      expect(contrast(palette[tone], palette.sheet), tone).toBeGreaterThanOrEqual(4.5);
      expect(contrast(palette[tone], palette[`${tone}-wash`]), `${tone} wash`).toBeGreaterThanOrEqual(4.5);
      expect(contrast(palette.ink, palette[`${tone}-wash`]), `ink on ${tone} wash`).toBeGreaterThanOrEqual(4.5);
    }
  });
});
