/** A linear scale from values to positions on the page. */
export interface Axis {
  low: number;
  high: number;
  at(value: number): number;
  ticks: number[];
  decimals: number;
}

/**
 * An axis from `low` to `high`, extended to round numbers, drawn from position `start` to `end`; `end` may be the smaller.
 * @param wanted about how many ticks it has
 */
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

/** The smallest of the numbers 1, 2 and 5 times a power of ten that is not below `least`. */
export function roundStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  for (const factor of [1, 2, 5]) if (factor * power >= least * (1 - 1e-9)) return factor * power;
  return 10 * power;
}

/** A position on the page as text for an SVG attribute, rounded to a tenth. */
export function px(value: number): string {
  return String(Math.round(value * 10) / 10);
}
