/**
 * Colours for quantities. Sequential: cividis, readable with any colour vision (Nuñez, Anderton and Renslow 2018,
 * "Optimizing colormaps with consideration for color vision deficiency", PLoS ONE 13(7); nine samples of the published
 * table, from memory). Diverging: blue over grey to orange, our own, dark enough on white and light enough on black.
 */
const CIVIDIS = ['#00224e', '#123570', '#3b496c', '#575d6d', '#707173', '#8a8678', '#a59c74', '#c3b369', '#fee838'];
const DIVERGING = ['#1f5fa8', '#5b93cf', '#9aa0a6', '#dd9040', '#b4540a'];

/** Colour of a share 0 to 1 of a quantity that has no sign. */
export function sequentialColour(share: number): string {
  return along(CIVIDIS, share);
}

/** Colour of a signed value: blue below zero, grey at zero, orange above; full at plus or minus `most`. */
export function divergingColour(value: number, most: number): string {
  return along(DIVERGING, most > 0 ? 0.5 + value / (2 * most) : 0.5);
}

function along(stops: readonly string[], share: number): string {
  const position = Math.min(1, Math.max(0, share)) * (stops.length - 1);
  const first = Math.min(stops.length - 2, Math.floor(position));
  const rest = position - first;
  let colour = '#';
  for (let channel = 0; channel < 3; channel++) {
    const a = Number.parseInt(stops[first].slice(1 + channel * 2, 3 + channel * 2), 16);
    const b = Number.parseInt(stops[first + 1].slice(1 + channel * 2, 3 + channel * 2), 16);
    colour += Math.round(a + (b - a) * rest)
      .toString(16)
      .padStart(2, '0');
  }
  return colour;
}
