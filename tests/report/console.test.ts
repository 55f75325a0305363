import { describe, expect, test } from 'vitest';
import { consoleSummary, terminalOptions, wrap } from '../../src/report/console.js';
import { clean } from '../../src/report/printable.js';
import { acceptedQuayRoad, HOSTILE, quayRoad } from './sample.js';

describe('summary for a terminal', () => {
  test('at 80 columns without colour', () => {
    expect(consoleSummary(quayRoad())).toMatchInlineSnapshot(`
      "cloudassay 0.1.0
        Delivery  14 files, 111,750,282 points, 636.7 MB, EPSG:25832 +
                  PROJCS["</style><img src=x onerror=alert(2)>"], 3 passes by point
                  source ID
        Spec      Quay road as-built capture (quay-road.json, sha256 5a1f0c7e9d3b)

      ✓ met                ACC-V   Heights agree with the check points
                                   RMSE 14.2 mm (limit 20.0 mm), points 32 (limit 30)
      ✗ not met            REL-1   Passes disagree by more than the limit
                                   RMS dz 18.3 mm (limit 16.0 mm), largest dz 41.2 mm
                                   (limit 32.0 mm), shift (3D) 24.1 mm (limit 15.0 mm)
                                   at 565262.25 5934031.75,
                                      tile_<script>alert(1)</script>_"&'.laz, source
                                      12: 41.2 mm, height step between passes 11 and
                                      12
                                   > Likely cause: trajectories not adjusted relative
                                     to each other. source 12 lies +15.1 mm in z from
                                     a|b\`c\`[x](javascript:alert(3)): adjust both to
                                     common control.
                                   > Pass source 12 lies 15.1 mm above the others.
                                     Adjust its trajectory to the control points, then
                                     rebuild the tiles.
      ✗ not met            DEN-1   Density is below the minimum [carriageway]
                                   share of cells 97.996 % (limit 98.000 %), required:
                                   density of a cell 400.0 points/m²
                                   at 565391.50 5934077.50, quay_565350_5934050.laz:
                                      112.0 points/m², sparsest cell
                                   > Drive the inner lane once more between the two
                                     cranes; the scanner was shadowed there.
      ? undetermined       VOID-1  Gaps in the coverage could not be judged
                                   One tile could not be read to the end, so a gap
                                   there cannot be ruled out.
                                   largest void – (limit 0.50 m²)
                                   > Copy the tile again from the source and compare
                                     its checksum.
      ! advisory, not met  PREC-1  Surfaces are rougher than recommended
                                   RMS 6.4 mm (limit 5.0 mm)
                                   > Ask for the scanner service record.
      ✓ met                DUP-1   No point is stored twice
                                   share of duplicates 0.0000027 % (limit 0.00010 %)
      - not applicable     TRJ-1   Trajectory quality
                                   No trajectory was handed over.

      Files not fully read
        quay_565200_5934050.laz: the file ends inside a chunk (found 31457280,
          expected 44102113)

      warning: =HYPERLINK("http://example.invalid","open"): Not a point cloud; left
        out.

      ✗ Rejected: 2 of 5 mandatory requirements not met; 1 mandatory requirement
        undetermined; 1 file could not be fully read; 1 advisory requirement not met,
        which does not change the verdict.
        Exit code 1: rejected.
      "
    `);
  });

  test('accepted', () => {
    const text = consoleSummary(acceptedQuayRoad());
    expect(text).toContain(
      '✓ Accepted: the delivery meets all 2 mandatory requirements that apply.\n  Exit code 0: accepted.',
    );
    expect(text).not.toContain('Files not fully read');
  });

  test.each([40, 60, 80, 120, 200])('no line is wider than %i columns', (columns) => {
    for (const line of consoleSummary(quayRoad(), { columns }).split('\n'))
      expect([...line].length).toBeLessThanOrEqual(columns);
  });

  test('colour only adds: without its codes the text is the same (ECMA-48 SGR)', () => {
    const coloured = consoleSummary(quayRoad(), { colour: true });
    // biome-ignore lint/suspicious/noControlCharactersInRegex: the codes to take out
    const bare = coloured.replace(/\u001b\[\d+m/g, '');
    expect(coloured).not.toBe(bare);
    expect(bare).toBe(consoleSummary(quayRoad(), { colour: false }));
  });

  test('a file name cannot steer the terminal', () => {
    const report = quayRoad();
    report.files[9].file = HOSTILE.escape;
    report.files[9].fault = 'line\nbreak \u202egnol';
    const text = consoleSummary(report);
    // biome-ignore lint/suspicious/noControlCharactersInRegex: looking for exactly these
    expect(text.replace(/\n/g, '')).not.toMatch(/[\u0000-\u001f\u007f-\u009f\u202e]/);
    expect(text).toContain('tile_?[31mred?.las: line?break ?gnol');
    expect(clean('plain name ä 東.las')).toBe('plain name ä 東.las');
  });
});

describe('terminal', () => {
  test('NO_COLOR, when not empty, forbids colour whatever else is set (no-color.org)', () => {
    const tty = { isTTY: true, columns: 132 };
    expect(terminalOptions(tty, {})).toEqual({ columns: 132, colour: true });
    expect(terminalOptions(tty, { NO_COLOR: '1', FORCE_COLOR: '1' }).colour).toBe(false);
    expect(terminalOptions(tty, { NO_COLOR: '' }).colour).toBe(true);
    expect(terminalOptions(tty, { TERM: 'dumb' }).colour).toBe(false);
    expect(terminalOptions({}, {})).toEqual({ columns: 80, colour: false });
    expect(terminalOptions({}, { FORCE_COLOR: '1' }).colour).toBe(true);
  });

  test('a word that would fit without the space before it still stands apart', () => {
    expect(wrap('RMSE_V = 2.64', 7, '')).toEqual(['RMSE_V', '= 2.64']);
    expect(wrap('RMSE_V = 2.64', 8, '')).toEqual(['RMSE_V =', '2.64']);
  });

  test('wrapping keeps every word and cuts only what is wider than the line', () => {
    expect(wrap('one two three', 8, '  ')).toEqual(['one two', '  three']);
    expect(wrap('abcdefghij', 4, ' ')).toEqual(['abcd', ' efg', ' hij']);
    expect(wrap('', 10, '')).toEqual(['']);
  });
});
