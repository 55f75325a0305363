/** From blue over grey to orange: distinct for all common kinds of colour vision, visible on white and on near black. */
const DIVERGING = ['#1f5fa8', '#5b93cf', '#9aa0a6', '#dd9040', '#b4540a'];

/** Colour (#rrggbb) of a signed value: blue below zero, grey at zero, orange above; strongest at plus or minus `most`. */
export function divergingColour(value: number, most: number): string {
  const share = most > 0 ? 0.5 + value / (2 * most) : 0.5;
  const position = Math.min(1, Math.max(0, share)) * (DIVERGING.length - 1);
  const first = Math.min(DIVERGING.length - 2, Math.floor(position));
  const rest = position - first;
  let colour = '#';
  for (let channel = 0; channel < 3; channel++) {
    const a = Number.parseInt(DIVERGING[first].slice(1 + channel * 2, 3 + channel * 2), 16);
    const b = Number.parseInt(DIVERGING[first + 1].slice(1 + channel * 2, 3 + channel * 2), 16);
    colour += Math.round(a + (b - a) * rest)
      .toString(16)
      .padStart(2, '0');
  }
  return colour;
}
