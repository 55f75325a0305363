import { soundClouds } from '../../dist/test-clouds/mutator/sound-clouds.js';

/** A small sound cloud, for the company of a mutated one. */
export const sound = soundClouds(1).laz14();
