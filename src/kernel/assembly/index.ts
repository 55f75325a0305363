// Loops over points that are too hot for JavaScript. Everything works on addresses that the caller gives; nothing is
// allocated, nothing is kept but what `begin` leaves room for.
export { takeBytes, takeDoubles, takeFlags, takeLegacyFlags, takeShorts, takeSignedBytes, takeTriples } from './records';
export { joinBits, toWorld, widenShorts } from './scale';
export { countLabels } from './class-return-counts';
export { cutByArea, groupsCut } from './voxels-by-block';
export { forgetCubes, momentCubes } from './moment-voxels';
export { countRuns } from './cell-runs';
export { forgetTimes, prepareTimes, takeTimes, timeCells } from './time-cells';

/** Where the memory begins that the loops themselves do not use. */
export function begin(): usize {
  return __heap_base;
}
