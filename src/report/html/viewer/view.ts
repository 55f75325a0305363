/** What part of the world a picture shows: its middle in world metres, and pixels a metre. North is up. */
export interface View {
  x: number;
  y: number;
  scale: number;
}

export interface Size {
  width: number;
  height: number;
}

/** The view that shows a box (west, south, east, north) whole, with a margin of pixels around it. */
export function fitView(box: readonly number[], size: Size, margin = 24): View {
  const [west, south, east, north] = box;
  const wide = Math.max(1, size.width - 2 * margin);
  const high = Math.max(1, size.height - 2 * margin);
  const scale = Math.min(wide / Math.max(east - west, 0.5), high / Math.max(north - south, 0.5));
  return { x: (west + east) / 2, y: (south + north) / 2, scale };
}

export function toScreen(view: View, size: Size, x: number, y: number): [number, number] {
  return [size.width / 2 + (x - view.x) * view.scale, size.height / 2 - (y - view.y) * view.scale];
}

export function toWorld(view: View, size: Size, px: number, py: number): [number, number] {
  return [view.x + (px - size.width / 2) / view.scale, view.y - (py - size.height / 2) / view.scale];
}

/** Zooms by a factor so that the world under a pixel stays under it. Scales are kept between 1 px a 100 km and 20 px a mm. */
export function zoomAt(view: View, size: Size, px: number, py: number, factor: number): View {
  const scale = Math.min(20_000, Math.max(1e-5, view.scale * factor));
  const [x, y] = toWorld(view, size, px, py);
  return { x: x - (px - size.width / 2) / scale, y: y + (py - size.height / 2) / scale, scale };
}

/** Moves by pixels: to the right and down for positive numbers, as a sheet is dragged. */
export function panBy(view: View, dx: number, dy: number): View {
  return { ...view, x: view.x - dx / view.scale, y: view.y + dy / view.scale };
}

/** A view on the way from one to another, `share` from 0 to 1: scales change by equal factors in equal times. */
export function between(from: View, to: View, share: number): View {
  const scale = from.scale * (to.scale / from.scale) ** share;
  // the place travels as fast as it looks from the height reached
  const travelled = from.scale === to.scale ? share : (1 / scale - 1 / from.scale) / (1 / to.scale - 1 / from.scale);
  return { x: from.x + (to.x - from.x) * travelled, y: from.y + (to.y - from.y) * travelled, scale };
}
