import { expect, it } from 'vitest';
import { verdictSentence } from '../../src/report/wording.js';
import { assayFiles, lasOf, soundStreet } from '../checks/check-files.js';

it('a delivery with one file in feet passes its checks of each file, and is not accepted', async () => {
  const street = soundStreet({ density: 5 });
  const up = Float64Array.from(street.z, (z) => z + 100);
  const metres = lasOf({ ...street, z: up }, { crs: undefined });
  const feet = lasOf(
    { ...street, x: street.x.map((x) => x + 20), z: up.map((z) => z / 0.3048) },
    { crs: undefined, scale: [0.001, 0.001, 0.01] },
  );
  const asked = [{ check: 'header-agreement' }];
  const crs = { unit: 'metre' };
  expect((await assayFiles({ 'a.las': metres }, asked, { crs })).verdict).toBe('accepted');
  const report = await assayFiles({ 'a.las': metres, 'b.las': feet }, asked, { crs });
  expect(report.requirements.map(({ verdict }) => verdict)).toEqual(['pass']);
  expect(report.findings.map(({ code, file }) => [code, file])).toEqual([['height-unit', 'b.las']]);
  expect(report.verdict).toBe('undetermined');
  expect(verdictSentence(report)).toBe('Undetermined: files contradict each other (finding height-unit).');
});
