/** What `pass-agreement` can be asked. Metres. */
export interface PassAgreementOptions {
  maxRmsDz?: number;
  maxP95Dz?: number;
  maxDz?: number;
  maxShift?: number;
  maxPlanShift?: number;
  maxAxisShift?: number;
  maxP95Plan?: number;
  maxPlan?: number;
  stretch: number;
  pairs: 'all' | 'within-drive' | 'between-drives';
  method: 'planes' | 'cells';
  voxel: number;
  cell: number;
  minPoints?: number;
  minCells: number;
  minComparedShare: number;
}

export const passAgreementSchema = {
  properties: {
    maxRmsDz: {
      type: 'number',
      exclusiveMinimum: 0,
      description: 'Largest root mean square height difference of a pass pair on horizontal surfaces, metres.',
    },
    maxP95Dz: {
      type: 'number',
      exclusiveMinimum: 0,
      description: 'Largest 95th percentile of the height differences of a pass pair, absolute values, metres.',
    },
    maxDz: {
      type: 'number',
      exclusiveMinimum: 0,
      description: 'Largest single height difference on horizontal surfaces, metres.',
    },
    maxShift: {
      type: 'number',
      exclusiveMinimum: 0,
      description: 'Largest 3D shift of a pass against another, metres.',
    },
    maxPlanShift: {
      type: 'number',
      exclusiveMinimum: 0,
      description: 'Largest shift of a pass against another in plan, metres.',
    },
    maxAxisShift: {
      type: 'number',
      exclusiveMinimum: 0,
      description: 'Largest shift of a pass against another along x, y or z, each by itself, metres.',
    },
    maxP95Plan: {
      type: 'number',
      exclusiveMinimum: 0,
      description: 'Largest 95th percentile of the differences in plan of a pass pair, square by square, metres.',
    },
    maxPlan: {
      type: 'number',
      exclusiveMinimum: 0,
      description: 'Largest single difference in plan of a pass pair, square by square, metres.',
    },
    stretch: {
      type: 'number',
      minimum: 5,
      maximum: 500,
      default: 20,
      description:
        'Edge of the squares over which a difference in plan is computed for `maxP95Plan` and `maxPlan`, metres; half of them must show both directions.',
    },
    pairs: {
      enum: ['all', 'within-drive', 'between-drives'],
      default: 'all',
      description:
        'Which passes are judged against each other: `all`; `within-drive`, the scanner heads of one drive; `between-drives`, passes of different drives. Heads of one drive can be separated where `passes.by` of the spec lists scanner-channel together with point-source-id, gps-time-gap, trajectory or file.',
    },
    method: {
      enum: ['planes', 'cells'],
      default: 'planes',
      description:
        '`planes` fits planes in voxels and gives shifts in space; `cells` is the published raster method on last returns, for heights only.',
    },
    voxel: {
      type: 'number',
      minimum: 0.1,
      maximum: 10,
      default: 0.5,
      description:
        'Edge of the voxels in which planes are fitted, metres; 2 suits airborne data of 10 to 20 points per square metre.',
    },
    cell: {
      type: 'number',
      minimum: 0.1,
      maximum: 100,
      default: 1,
      description: 'Edge of the cells of the method `cells`, metres: twice the cell of the elevation model.',
    },
    minPoints: {
      type: 'integer',
      minimum: 1,
      description: 'Points of each pass that a voxel or cell must hold; 10 for a voxel (4 at least), 1 for a cell.',
    },
    minCells: {
      type: 'integer',
      minimum: 1,
      default: 30,
      description: 'Voxels or cells in which a pass pair must meet for a verdict.',
    },
    minComparedShare: {
      type: 'number',
      minimum: 0,
      maximum: 1,
      default: 0.1,
      description:
        'Smallest share of the ground with points of both passes (squares as wide as a voxel, or cells) on which surfaces must have been compared, 0 to 1; below it a pass pair never passes, while a difference beyond a limit still fails. In simulated sound deliveries, sparse edges and vegetation among them, it is 0.17 to 0.89; the default is below all of these. Ask for more where the passes are dense.',
    },
  },
  required: [],
  anyOf: [
    { required: ['maxRmsDz'] },
    { required: ['maxP95Dz'] },
    { required: ['maxDz'] },
    { required: ['maxShift'] },
    { required: ['maxPlanShift'] },
    { required: ['maxAxisShift'] },
    { required: ['maxP95Plan'] },
    { required: ['maxPlan'] },
  ],
} as const;
