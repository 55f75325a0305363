/// <reference lib="dom" />

/** The data that the viewer reads from the page as JSON; html/map-data.ts writes it. World metres. */
export interface MapData {
  /** west, south, east, north. */
  extent: number[];
  tiles: { name: string; box: number[]; fault: boolean }[];
  zones: { name: string; rings: number[][] }[];
  passes: string[];
  passSets: number[][];
  points: SurveyMark[];
  places: Place[];
  layers: LayerHead[];
}

export interface SurveyMark {
  id: string;
  role: 'control' | 'check';
  status: 'used' | 'blunder' | 'no-data' | 'no-target' | 'outside';
  x: number;
  y: number;
  /** Cloud minus survey, metres. */
  d: (number | null)[];
}

export interface Place {
  x: number;
  y: number;
  /** Requirement and what is wrong there, in words. */
  text: string;
}

/** A map layer: a grid of report.json without its data, which is in an element of its own. */
export interface LayerHead {
  title: string;
  /** Requirement it belongs to, in words; empty for the overview. */
  owner: string;
  kind: 'values' | 'pass-sets';
  unit: string;
  cell: number;
  mergedFrom: number | null;
  signed: boolean;
  limit: number | null;
  sense: 'at-most' | 'at-least' | null;
  cells: number;
  runs: number;
  step: number;
  bytes: number;
  /** Id of the element that holds the data. */
  element: string;
}

/** The map data of this page; null where it has none. */
export function readMapData(): MapData | null {
  const text = document.getElementById('map-data')?.textContent;
  return text ? (JSON.parse(text) as MapData) : null;
}

/** The bytes of an element's base64 text, inflated (zlib, RFC 1950). The text is removed from the page, since it is needed once. */
export async function inflateElement(id: string): Promise<Uint8Array> {
  const element = document.getElementById(id);
  const text = element?.textContent ?? '';
  if (element) element.textContent = '';
  const stream = new Blob([fromBase64(text)]).stream().pipeThrough(new DecompressionStream('deflate'));
  return new Uint8Array(await new Response(stream).arrayBuffer());
}

function fromBase64(text: string): Uint8Array<ArrayBuffer> {
  const decoder = Uint8Array as unknown as { fromBase64?: (text: string) => Uint8Array<ArrayBuffer> };
  if (decoder.fromBase64) return decoder.fromBase64(text);
  const binary = atob(text);
  const bytes = new Uint8Array(binary.length);
  for (let i = 0; i < bytes.length; i++) bytes[i] = binary.charCodeAt(i);
  return bytes;
}
