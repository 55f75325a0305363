// Loops over points that are too hot for JavaScript. Everything works on addresses that the caller gives; nothing is
// allocated, nothing is kept.
export { takeBytes, takeDoubles, takeFlags, takeLegacyFlags, takeShorts, takeSignedBytes, takeTriples } from './records';
export { joinBits, toWorld, widenShorts } from './world';
export { countLabels } from './labels';
export { forgetCubes, momentCubes } from './moment-cubes';
export { countRuns, timeRuns } from './cell-runs';
