/** A column name or word for comparison: lower case, without accents, blanks, dots, underscores and hyphens. */
export function plainName(name: string): string {
  return name
    .normalize('NFD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replace(/[\s._-]/g, '');
}
