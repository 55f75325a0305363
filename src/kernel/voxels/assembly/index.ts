// What is done with an area once all its points are in: cubes are put together, summed to voxels, and looked at.
export { addCubes, addWideCubes, makeVoxels, openArea, passCount } from './area';
export { groupCount, recordCount } from './groups';
export { visitOutline } from './outline';
export { visitPairs } from './pairs';
export { visitPatches } from './patches';
