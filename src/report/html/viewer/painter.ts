/// <reference lib="dom" />
import { type Ramp, type Rgb, rampFor, rangeOf } from './ramps.js';
import { BLOCK, isBeyond, type Level, type Raster } from './raster.js';
import type { Size, View } from './view.js';

/** How a layer is drawn. */
export interface Drawing {
  /** What a pixel shows that has several cells in it. */
  coarse: 'mean' | 'worst';
  /** Whether cells on the good side of the limit are drawn in pale grey. */
  beyondOnly: boolean;
}

/** Largest number of pictures of blocks that are kept for the next frame, about 100 MB. */
const MOST_PICTURES = 1500;
const FADED: Rgb = [160, 166, 170];

/** Draws one layer, block by block. Blocks that have been drawn are kept as pictures. */
export class Painter {
  readonly raster: Raster;
  ramp: Ramp;
  range: { low: number; high: number; min: number; max: number };
  readonly #pictures = new Map<string, HTMLCanvasElement>();

  constructor(raster: Raster) {
    this.raster = raster;
    this.range = rangeOf(raster.values(), raster.head);
    this.ramp = rampFor(raster.head, this.range.low, this.range.high);
  }

  /** Computes the range and the colours again, after the values of the raster have changed. */
  renew(): void {
    this.range = rangeOf(this.raster.values(), this.raster.head);
    this.ramp = rampFor(this.raster.head, this.range.low, this.range.high);
    this.#pictures.clear();
  }

  /** Draws what the view shows, in device pixels. */
  draw(context: CanvasRenderingContext2D, view: View, size: Size, drawing: Drawing): void {
    const cellPixels = this.raster.head.cell * view.scale;
    const index = Math.max(0, Math.ceil(Math.log2(1 / cellPixels)));
    const level = this.raster.level(index);
    const metres = this.raster.head.cell * level.factor * BLOCK;
    const left = view.x - size.width / 2 / view.scale;
    const bottom = view.y - size.height / 2 / view.scale;
    const [x0, y0] = [Math.floor(left / metres), Math.floor(bottom / metres)];
    const x1 = Math.floor((left + size.width / view.scale) / metres);
    const y1 = Math.floor((bottom + size.height / view.scale) / metres);
    context.imageSmoothingEnabled = false;
    for (const [key, block] of this.#visible(level, x0, y0, x1, y1)) {
      const at = (x: number) => Math.round(size.width / 2 + (x * metres - view.x) * view.scale);
      const up = (y: number) => Math.round(size.height / 2 - (y * metres - view.y) * view.scale);
      const [west, north] = [at(block.column), up(block.row + 1)];
      const picture = this.#picture(`${index} ${key} ${drawing.coarse} ${drawing.beyondOnly}`, block, drawing);
      context.drawImage(picture, west, north, at(block.column + 1) - west, up(block.row) - north);
    }
  }

  *#visible(level: Level, x0: number, y0: number, x1: number, y1: number) {
    for (const entry of level.blocks) {
      const { column, row } = entry[1];
      if (column >= x0 && column <= x1 && row >= y0 && row <= y1) yield entry;
    }
  }

  #picture(key: string, block: { mean: Float32Array; worst: Float32Array }, drawing: Drawing): HTMLCanvasElement {
    const known = this.#pictures.get(key);
    if (known) return known;
    const canvas = document.createElement('canvas');
    canvas.width = BLOCK;
    canvas.height = BLOCK;
    const context = canvas.getContext('2d') as CanvasRenderingContext2D;
    const image = context.createImageData(BLOCK, BLOCK);
    this.#paint(image.data, drawing.coarse === 'worst' ? block.worst : block.mean, drawing.beyondOnly);
    context.putImageData(image, 0, 0);
    if (this.#pictures.size >= MOST_PICTURES) this.#pictures.delete(this.#pictures.keys().next().value as string);
    this.#pictures.set(key, canvas);
    return canvas;
  }

  /** Row 0 of a picture is in the north, row 0 of a block in the south. */
  #paint(pixels: Uint8ClampedArray, values: Float32Array, beyondOnly: boolean): void {
    for (let y = 0; y < BLOCK; y++) {
      for (let x = 0; x < BLOCK; x++) {
        const value = values[(BLOCK - 1 - y) * BLOCK + x];
        if (Number.isNaN(value)) continue;
        const faded = beyondOnly && !isBeyond(value, this.raster.head);
        const colour = faded ? FADED : this.ramp.colourOf(value);
        const at = (y * BLOCK + x) * 4;
        pixels[at] = colour[0];
        pixels[at + 1] = colour[1];
        pixels[at + 2] = colour[2];
        pixels[at + 3] = faded ? 70 : 255;
      }
    }
  }
}
