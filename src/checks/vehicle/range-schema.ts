const metres = (description: string, more: object = {}) => ({
  type: 'number',
  exclusiveMinimum: 0,
  ...more,
  description,
});
const share = (description: string, more: object = {}) => ({
  type: 'number',
  minimum: 0,
  maximum: 1,
  ...more,
  description,
});
const lever = (direction: string) => ({
  type: 'number',
  minimum: -20,
  maximum: 20,
  default: 0,
  description: `How far the scanner is ${direction} the reference point of the trajectory, metres.`,
});

/** The options of `range`. */
export const rangeSchema = {
  properties: {
    maxRange: metres('Distance from the scanner beyond which points are counted as far, metres; with `maxFarShare`.'),
    maxFarShare: share('Largest share of the points beyond `maxRange`, 0 to 1.'),
    captureWithin: metres(
      'Distance from the scanner within which every place must have a point, metres; with `maxFarArea`.',
    ),
    maxFarArea: {
      type: 'number',
      minimum: 0,
      description: 'Largest connected area without a point from within `captureWithin`, square metres.',
    },
    minDensity: {
      type: 'number',
      exclusiveMinimum: 0,
      description:
        'Density that 90 % of the ground near the path must reach, points per square metre, all passes together.',
    },
    densityWithin: metres('Mean distance from the scanner up to which `minDensity` is required, metres.', {
      default: 10,
    }),
    maxRms: metres('Largest root mean square distance of points from level planes in any class of distance, metres.'),
    maxRmsDz: metres('Largest root mean square height difference of two passes in any class of distance, metres.'),
    maxIncidence: {
      type: 'number',
      exclusiveMinimum: 0,
      maximum: 90,
      default: 60,
      description:
        'Angle between the beam and the normal of level ground beyond which a patch is seen at a steep angle, degrees.',
    },
    maxSteepShare: share('Largest share of the level patches seen beyond `maxIncidence`, 0 to 1.'),
    minPlacedShare: share('Share of the points at whose time the trajectory must have a position, 0 to 1.', {
      default: 0.99,
    }),
    bin: metres('Width of a class of distance, metres.', { default: 5 }),
    cell: {
      type: 'number',
      minimum: 0.1,
      maximum: 10,
      default: 1,
      description: 'Edge of the square cells in which distances are kept, metres.',
    },
    voxel: {
      type: 'number',
      minimum: 0.1,
      maximum: 10,
      default: 0.5,
      description: 'Edge of the voxels in which planes are fitted, metres.',
    },
    minPoints: {
      type: 'integer',
      minimum: 4,
      default: 10,
      description: 'Points of a pass that a voxel must hold.',
    },
    minCells: {
      type: 'integer',
      minimum: 1,
      default: 30,
      description: 'Patches or compared heights that a class of distance needs for its figure.',
    },
    leverForward: lever('in front of'),
    leverLeft: lever('left of'),
    leverUp: lever('above'),
  },
  required: [],
  anyOf: [
    { required: ['maxRange', 'maxFarShare'] },
    { required: ['captureWithin', 'maxFarArea'] },
    { required: ['minDensity'] },
    { required: ['maxRms'] },
    { required: ['maxRmsDz'] },
    { required: ['maxSteepShare'] },
  ],
} as const;
