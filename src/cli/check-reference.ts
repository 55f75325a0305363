import { adviceRules } from '../checks/advice/index.js';
import type { Metric } from '../checks/contract/metric.js';
import { checkById, checks } from '../checks/index.js';

/** Every check with its reason, options, figures and sources, as plain text. */
export function checkReference(): string {
  return `${checks.map(({ id }) => describeCheck(id)).join('\n')}\n${rulesReference()}`;
}

/** The rules that name likely causes; the last part of the reference. */
function rulesReference(): string {
  const lines = adviceRules.flatMap(({ id, title, why, sources }) => [
    `  ${id}: ${title}.`,
    `    ${why}`,
    ...sources.map(
      ({ standard, clause, note }) => `    Source: ${[standard, clause, note].filter(Boolean).join('; ')}`,
    ),
  ]);
  return [
    'likely causes',
    '  Rules of experience; they say where to look and never decide a verdict.',
    ...lines,
    '',
  ].join('\n');
}

function describeCheck(id: string): string {
  const check = checkById(id)!;
  const options = Object.entries(check.schema.properties).map(([name, schema]) => {
    const needed = check.schema.required.includes(name)
      ? 'needed'
      : check.schema.anyOf?.some(({ required }) => required.includes(name))
        ? 'at least one of these needed'
        : 'default' in schema
          ? `default ${JSON.stringify(schema.default)}`
          : 'optional';
    return `    ${name} (${needed}): ${schema.description}`;
  });
  const sources = check.sources.map(
    ({ standard, clause, note }) => `    ${[standard, clause, note].filter(Boolean).join('; ')}`,
  );
  return [
    id,
    `  ${check.title}.`,
    `  Why: ${check.why}`,
    '  Options:',
    ...(options.length > 0 ? options : ['    none']),
    '  Figures:',
    ...Object.entries(check.metrics).map(
      ([name, metric]) => `    ${name} (${metric.unit}): ${metric.label}${limitWords(metric)}`,
    ),
    '  Sources:',
    ...sources,
    ...(check.appendix?.() ?? []).map((line) => `  ${line}`),
    '',
  ].join('\n');
}

/** How the limit of a figure is set, in words. */
function limitWords({ limit }: Metric): string {
  if (!limit) return '';
  const side = limit.sense === 'at-most' ? 'at most' : 'at least';
  if (limit.source === 'judge') return `; ${side} what the check works out from its options`;
  return `; ${side} ${limit.source === 'option' ? `\`${limit.option}\`` : limit.value}`;
}
