import { builtViewer } from '../../built.js';

let script: string | undefined;

/** The text of the script of the report's viewer, which the build makes from the folder viewer beside this file. */
export function viewerScript(): string {
  script ??= builtViewer();
  return script;
}
