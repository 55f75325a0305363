/** A straight scale from values to positions on the page. */
export interface Axis {
  low: number;
  high: number;
  at(value: number): number;
  ticks: number[];
  decimals: number;
}

/** An axis over the values from `low` to `high`, widened to round numbers, drawn from `start` to `end` (which may be the smaller). */
export function axis(low: number, high: number, start: number, end: number, wanted = 5): Axis {
  const span = high - low > 0 ? high - low : Math.max(1, Math.abs(high) * 0.1);
  const step = roundStep(span / wanted);
  const first = Math.floor(low / step + 1e-9);
  const last = Math.max(first + 1, Math.ceil(high / step - 1e-9));
  const from = first * step;
  const to = last * step;
  const decimals = Math.min(100, Math.max(0, -Math.floor(Math.log10(step) + 1e-9)));
  const ticks: number[] = [];
  for (let i = first; i <= last; i++) ticks.push(Number((i * step).toFixed(decimals)));
  return {
    low: from,
    high: to,
    ticks,
    decimals,
    at: (value) => start + ((value - from) / (to - from)) * (end - start),
  };
}

/** The round number 1, 2 or 5 times a power of ten that is not below the one given. */
export function roundStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  for (const factor of [1, 2, 5]) if (factor * power >= least * (1 - 1e-9)) return factor * power;
  return 10 * power;
}

/** Position on the page with a tenth of a unit, as SVG attributes need it. */
export function px(value: number): string {
  return String(Math.round(value * 10) / 10);
}
