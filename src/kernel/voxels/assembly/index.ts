// Work on a processing block once all its points are in: sub-voxels are summed to voxels, and planes, patches and outlines
// are taken from them.
export { addSmall, addWide, makeVoxels, openBlock, passCount } from './block';
export { groupCount, recordCount } from './groups';
export { visitOutline } from './outline';
export { visitPairs } from './pairs';
export { visitPatches } from './patches';
