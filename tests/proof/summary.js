// From single observations to one row a claim: bias, spread, coverage of the stated interval, verdicts right and wrong.

/** Goals: shares that are asked of every claim. */
const COVERAGE = [0.93, 0.97];
const RIGHT = 0.95;

/** Interval of 95 % of a share (E. B. Wilson, 1927). */
function shareInterval(hits, count) {
  if (count === 0) return [0, 1];
  const z = 1.96;
  const share = hits / count;
  const middle = (share + (z * z) / (2 * count)) / (1 + (z * z) / count);
  const half = (z / (1 + (z * z) / count)) * Math.sqrt((share * (1 - share)) / count + (z * z) / (4 * count * count));
  return [middle - half, middle + half];
}

/** One row a claim, in the order of first appearance. An observation is described in cases.js. */
export function summarise(observations) {
  const byClaim = new Map();
  for (const one of observations) {
    if (!byClaim.has(one.claim)) byClaim.set(one.claim, []);
    byClaim.get(one.claim).push(one);
  }
  return [...byClaim].map(([claim, list]) => row(claim, list));
}

function row(claim, list) {
  const sized = list.filter((one) => one.planted !== undefined);
  const found = sized.filter((one) => one.reported !== null && one.reported !== undefined);
  const errors = found.map((one) => one.reported - one.planted);
  const withInterval = found.filter((one) => bounds(one) !== null);
  const covered = withInterval.filter((one) => bounds(one)[0] <= one.planted && one.planted <= bounds(one)[1]).length;
  const judged = list.filter((one) => one.expected !== undefined && one.expected !== 'any');
  const right = judged.filter((one) => one.expected === one.verdict).length;
  const open = judged.filter((one) => one.verdict === 'undetermined' && one.expected !== 'undetermined').length;
  const bias = mean(errors);
  const spread = Math.sqrt(mean(errors.map((error) => (error - bias) ** 2)));
  const result = {
    claim,
    runs: new Set(list.map((one) => one.seed)).size,
    values: sized.length,
    revealed: found.length,
    unit: list[0].unit ?? '',
    plantedLow: Math.min(...sized.map((one) => one.planted)),
    plantedHigh: Math.max(...sized.map((one) => one.planted)),
    reported: mean(found.map((one) => one.reported)),
    bias,
    spread,
    statedStd: mean(found.filter((one) => typeof one.std === 'number').map((one) => one.std)),
    intervals: withInterval.length,
    covered,
    expected: [...new Set(judged.map((one) => one.expected))].join(' or '),
    judged: judged.length,
    right,
    undetermined: open,
    wrong: judged.length - right - open,
  };
  return { ...result, outcome: outcome(result, list[0]) };
}

/** Whether the goals are met, are not met, or cannot be said from so few runs. */
function outcome(result, first) {
  const found = [];
  if (result.intervals > 0) {
    const [low, high] = shareInterval(result.covered, result.intervals);
    const share = result.covered / result.intervals;
    if (share >= COVERAGE[0] && share <= COVERAGE[1]) found.push('met');
    else if (high < COVERAGE[0]) found.push('not met: interval too narrow');
    else if (low > COVERAGE[1]) found.push('not met: interval too wide');
    else found.push('too few runs');
  }
  if (result.revealed > 0 && first.tolerance !== undefined) {
    // The mean error beyond the tolerance by more than twice its own standard error.
    const beyond = Math.abs(result.bias) - first.tolerance;
    if (beyond > (2 * result.spread) / Math.sqrt(result.revealed)) found.push('not met: biased');
    else found.push('met');
  }
  if (result.judged > 0) {
    const [, high] = shareInterval(result.right, result.judged);
    if (result.right / result.judged >= RIGHT) found.push('met');
    else if (high < RIGHT) found.push('not met: verdict');
    else found.push('too few runs');
  }
  const failed = found.filter((text) => text.startsWith('not met'));
  if (failed.length > 0) return failed.join('; ');
  if (found.includes('too few runs')) return 'too few runs';
  if (found.length > 0) return 'met';
  return result.values > 0 && result.revealed === 0 ? 'not revealed' : '';
}

function bounds(one) {
  if (one.interval) return one.interval;
  return typeof one.std === 'number' ? [one.reported - 1.96 * one.std, one.reported + 1.96 * one.std] : null;
}

function mean(values) {
  return values.length === 0 ? Number.NaN : values.reduce((sum, value) => sum + value, 0) / values.length;
}
