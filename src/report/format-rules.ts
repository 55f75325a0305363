import { clean } from './printable.js';

/** One breach of a rule of the format. */
export interface FormatFinding {
  /** Id of the rule; the list of rules is printed by `spec explain --checks`. */
  rule: string;
  severity: 'error' | 'warning';
  file: string;
  /** Position in the file, bytes from 0; null where points break the rule. */
  byte: number | null;
  found: string | number;
  expected: string | number;
  text: string;
  clause: string;
}

/** Result of comparing clouds with the rules of their format. */
export interface FormatReport {
  verdict: 'pass' | 'fail' | 'undetermined';
  errors: number;
  warnings: number;
  /** Why a file could not be read to its end; null when it was. */
  files: { file: string; fault: string | null }[];
  findings: FormatFinding[];
}

/** The findings as text, file by file, two lines each. */
export function formatReportText({ files, findings }: FormatReport): string {
  const lines: string[] = [];
  for (const { file, fault } of files) {
    const own = findings.filter((f) => f.file === file);
    const errors = own.filter((f) => f.severity === 'error').length;
    const counts =
      own.length === 0 ? 'no rule broken' : `${count(errors, 'error')}, ${count(own.length - errors, 'warning')}`;
    lines.push('', `${clean(file)}: ${counts}`);
    if (fault !== null) lines.push(`  could not be read to the end: ${clean(fault)}`);
    for (const { rule, severity, byte, found, expected, text } of own) {
      const where = byte === null ? 'points' : `byte ${byte}`;
      lines.push(
        `  ${severity.padEnd(8)} ${rule.padEnd(11)} ${where}: found ${value(found)}, expected ${value(expected)}`,
      );
      lines.push(`           ${clean(text)}`);
    }
  }
  return `${lines.join('\n')}\n`;
}

function count(n: number, one: string): string {
  return `${n} ${one}${n === 1 ? '' : 's'}`;
}

const LONGEST = 100;

function value(of: string | number): string {
  const text = clean(String(of));
  return text.length > LONGEST ? `${text.slice(0, LONGEST)} ...` : text;
}
