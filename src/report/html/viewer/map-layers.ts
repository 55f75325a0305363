/// <reference lib="dom" />
import { Painter } from './painter.js';
import { inflateElement, type LayerHead, type MapData } from './payload.js';
import { Raster } from './raster.js';

/** The layers of the map; each is read and unpacked when it is first needed. */
export class Layers {
  readonly heads: readonly LayerHead[];
  readonly #data: MapData;
  readonly #painters = new Map<number, Painter>();
  readonly #loading = new Map<number, Promise<Painter>>();

  constructor(data: MapData) {
    this.heads = data.layers;
    this.#data = data;
  }

  /** The layer, or null when it has not been unpacked yet. */
  ready(index: number): Painter | null {
    return this.#painters.get(index) ?? null;
  }

  load(index: number): Promise<Painter> {
    let loading = this.#loading.get(index);
    if (!loading) {
      loading = this.#unpack(index);
      this.#loading.set(index, loading);
    }
    return loading;
  }

  /** Shows one pass of a layer of passes, or all of them for -1. */
  showPass(index: number, pass: number): void {
    const painter = this.#painters.get(index);
    if (painter?.raster.head.kind !== 'pass-sets') return;
    this.#drawPass(painter.raster, pass);
    painter.renew();
  }

  async #unpack(index: number): Promise<Painter> {
    const head = this.heads[index];
    const raster = new Raster(head, await inflateElement(head.element));
    if (head.kind === 'pass-sets') this.#drawPass(raster, -1);
    const painter = new Painter(raster);
    this.#painters.set(index, painter);
    return painter;
  }

  #drawPass(raster: Raster, pass: number): void {
    const counts = this.#data.passSets.map((set) => (pass < 0 || set.includes(pass) ? set.length : Number.NaN));
    raster.drawAs((set) => counts[set]);
  }
}
