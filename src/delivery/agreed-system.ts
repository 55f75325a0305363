import type { DeclaredCrs, DeliveredFile } from './delivery.js';

/** The coordinate system of a delivery as a whole. */
export interface AgreedSystem {
  /** EPSG code such as "EPSG:25832", or else the name; null where nothing states or declares one. */
  horizontal: string | null;
  vertical: string | null;
  /** A file that states this system, with its vertical part where one does; null where none does. */
  file: DeliveredFile | null;
  /** Two systems that are stated by the same number of files, where no spec decides between them; else null. */
  undecided: [string, string] | null;
}

/** EPSG code of a part of a coordinate system, or its name without one. */
export function codeOrName(part: { name: string; epsg: number | null } | null | undefined): string | null {
  if (!part) return null;
  return part.epsg === null ? part.name : `EPSG:${part.epsg}`;
}

/**
 * The coordinate system of a delivery: the one that the spec declares, otherwise the one that most files state; among equally
 * many, that of more points, then that of the first name. Files in longitude and latitude count only where there are no others.
 */
export function agreedSystem(files: readonly DeliveredFile[], declared: DeclaredCrs): AgreedSystem {
  const stating = files.filter((file) => file.crs?.horizontal);
  const projected = stating.filter((file) => !file.crs?.horizontal?.geographic);
  const all = projected.length > 0 ? projected : stating;
  const [plan, rival] = ranked(all, (file) => codeOrName(file.crs?.horizontal));
  const horizontal = declared.horizontal ?? plan?.system ?? null;
  const same = filesOf(all, declared.horizontal, plan?.files ?? []);
  const [height] = ranked(same, (file) => codeOrName(file.crs?.vertical));
  const vertical = declared.vertical ?? height?.system ?? null;
  const file = same.find((one) => codeOrName(one.crs?.vertical) === vertical) ?? height?.files[0] ?? same[0] ?? null;
  const tied = declared.horizontal === null && rival !== undefined && rival.files.length === plan.files.length;
  return { horizontal, vertical, file, undecided: tied ? [plan.system, rival.system] : null };
}

/** The files that state the declared system, by code or by name; else those that state it by a name alone, which may be the same. */
function filesOf(
  stating: readonly DeliveredFile[],
  declared: string | null,
  majority: readonly DeliveredFile[],
): readonly DeliveredFile[] {
  if (declared === null) return majority;
  const agreeing = stating.filter(
    ({ crs }) => codeOrName(crs?.horizontal) === declared || crs?.horizontal?.name === declared,
  );
  if (agreeing.length > 0) return agreeing;
  return /^EPSG:/i.test(declared) ? stating.filter(({ crs }) => crs?.horizontal?.epsg === null) : majority;
}

/** Systems that files state, most files first. */
function ranked(files: readonly DeliveredFile[], systemOf: (file: DeliveredFile) => string | null) {
  const groups = new Map<string, DeliveredFile[]>();
  for (const file of files) {
    const system = systemOf(file);
    if (system !== null) groups.set(system, [...(groups.get(system) ?? []), file]);
  }
  const points = (list: readonly DeliveredFile[]) =>
    list.reduce((sum, { header }) => sum + Number(header?.pointCount ?? 0), 0);
  return [...groups]
    .map(([system, list]) => ({ system, files: list }))
    .sort(
      (a, b) =>
        b.files.length - a.files.length || points(b.files) - points(a.files) || a.files[0].index - b.files[0].index,
    );
}

/**
 * A readable file whose units are those of the delivery: one that states its coordinate system, else the first whose header
 * could be read; null where there is none.
 */
export function unitFile(files: readonly DeliveredFile[], declared: DeclaredCrs): DeliveredFile | null {
  return agreedSystem(files, declared).file ?? files.find((file) => file.header !== null) ?? null;
}
