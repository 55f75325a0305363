// Loops over points that are too slow in JavaScript. Every function works on addresses given by the caller. Nothing is
// allocated. State is kept between calls only in module variables and in memory below `begin()`.
export { takeBytes, takeDoubles, takeFlags, takeLegacyFlags, takeShorts, takeSignedBytes, takeTriples } from './records';
export { orBytes, toWorld, widenShorts } from './scale';
export { countClassesAndReturns } from './class-return-counts';
export { rangeOfNumbers, rangeOfWhole } from './ranges';
export { cutByBlock, cutGroupCount } from './voxels-by-block';
export { clearVoxels, momentVoxels } from './moment-voxels';
export { countRuns } from './cell-runs';
export { clearTimeCells, prepareTimeCells, copyTimeCells, timeCells } from './time-cells';

/** First address that the loops themselves do not use. */
export function begin(): usize {
  return __heap_base;
}
