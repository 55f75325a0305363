import { builtViewer } from '../../built.js';

let script: string | undefined;

/** The viewer of the report as one script, which the build makes from the folder viewer beside this file. */
export function viewerScript(): string {
  script ??= builtViewer();
  return script;
}
