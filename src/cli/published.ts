import { fragments } from '../run/fragments.js';
import { schemaText } from '../spec/generate.js';
import { checkReference } from './spec.js';

/** Files of specs/ that are made from the checks, so that they cannot fall behind them. `npm run generate` writes them. */
export function publishedFiles(): { name: string; text: string }[] {
  return [
    { name: 'acceptance-spec.schema.json', text: schemaText(fragments()) },
    {
      name: 'checks.md',
      text: `# The checks\n\nMade by \`npm run generate\`; the same text is printed by \`cloudassay spec explain --checks\`.\n\n\`\`\`text\n${checkReference()}\`\`\`\n`,
    },
  ];
}
