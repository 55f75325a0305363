/** The part of the world that a picture shows: its centre in world metres, and pixels per metre. North is up. */
export interface View {
  x: number;
  y: number;
  scale: number;
}

export interface Size {
  width: number;
  height: number;
}

/** The view that shows a whole box (west, south, east, north, metres), with a margin of pixels around it. */
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

/** Zooms by a factor about a pixel. The scale stays between 1 pixel per 100 km and 20 pixels per mm. */
export function zoomAt(view: View, size: Size, px: number, py: number, factor: number): View {
  const scale = Math.min(20_000, Math.max(1e-5, view.scale * factor));
  const [x, y] = toWorld(view, size, px, py);
  return { x: x - (px - size.width / 2) / scale, y: y + (py - size.height / 2) / scale, scale };
}

/** Moves the map by pixels, to the right and down for positive numbers. */
export function panBy(view: View, dx: number, dy: number): View {
  return { ...view, x: view.x - dx / view.scale, y: view.y + dy / view.scale };
}

/** A view between two views, at `share` from 0 to 1; the scale changes by equal factors in equal times. */
export function between(from: View, to: View, share: number): View {
  const scale = from.scale * (to.scale / from.scale) ** share;
  // The speed of the centre in pixels is then the same at every scale.
  const travelled = from.scale === to.scale ? share : (1 / scale - 1 / from.scale) / (1 / to.scale - 1 / from.scale);
  return { x: from.x + (to.x - from.x) * travelled, y: from.y + (to.y - from.y) * travelled, scale };
}
