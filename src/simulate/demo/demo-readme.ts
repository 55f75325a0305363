import type { Planted } from './planted.js';

const mm = (metres: number) => `${Math.round(metres * 10_000) / 10} mm`;

/** README of a demo delivery: what the folder holds and what was planted, in plain words. */
export function demoReadme(planted: Planted, drive: boolean): string {
  const { faults } = planted;
  const lines = [
    'Quay Road, Port of Lindholt: a demo delivery',
    '',
    'Place, survey and points are invented. The coordinates only look like ETRS89 / UTM zone 32N with DVR90 heights.',
    '',
    `tiles/                ${planted.points} points in square tiles of 25 m, ${planted.passes.length} passes told apart by point source ID`,
    `check-points.csv      ${planted.checkPoints.length} check points and ${planted.controlPoints.length} control points on the carriageway`,
    'zones.geojson         the carriageway between the kerbs',
    ...(drive
      ? [
          'trajectory.csv        the drive of the vehicle, 10 rows a second',
          'route.geojson         the planned line, from station 3+200',
        ]
      : []),
    'acceptance-spec.json  what was agreed with the client',
    '',
    'Try:',
    `  cloudassay check tiles --spec acceptance-spec.json --points check-points.csv --zones zones.geojson${drive ? ' --trajectory trajectory.csv --route route.geojson --sections 10' : ''} --out report`,
    '',
    `Scanner noise is ${mm(planted.noise)} (one sigma, along the surface normal), that of the surveyed heights ${mm(planted.surveySigma)}.`,
    '',
  ];
  const planting: string[] = [];
  if (faults.passShift) {
    const [x, y, z] = faults.passShift;
    planting.push(`Pass 2 is displaced by ${mm(x)} east, ${mm(y)} north and ${mm(z)} up against passes 1 and 3.`);
  }
  if (faults.verticalBias) planting.push(`The whole cloud is ${mm(faults.verticalBias)} too high.`);
  if (faults.void) {
    const [x0, y0, x1, y1] = faults.void;
    planting.push(
      `The carriageway has a hole of ${x1 - x0} m by ${y1 - y0} m (${planted.voidArea} m2), south-west corner ${x0} ${y0}.`,
    );
  }
  if (faults.thinnedTo) {
    planting.push(
      `Tile ${planted.thinnedTile} is thinned to ${faults.thinnedTo} points in each square metre; ${planted.density.min} were asked for. With the hole, ${planted.density.below} of ${planted.density.cells} whole cells of the carriageway stay below.`,
    );
  }
  if (planted.blunderId) planting.push(`Check point ${planted.blunderId} was surveyed ${faults.blunder} m too high.`);
  if (planted.headerTile) {
    planting.push(
      `The header of ${planted.headerTile} claims to reach ${faults.headerExcess} m further east than its points.`,
    );
  }
  if (planted.foreignTile) {
    planting.push(`Tile ${planted.foreignTile} says EPSG:25833 where the others say EPSG:25832.`);
  }
  if (drive && faults.outageMetres)
    planting.push(
      `Pass 3 is driven without satellites for ${faults.outageMetres} m; its points are right all the same.`,
    );
  if (drive && faults.noClosingAlignment) planting.push('The drive ends without a closing alignment.');
  if (planting.length === 0) lines.push('Nothing is planted: this delivery is sound.');
  else lines.push('Planted on purpose:', ...planting.map((sentence, k) => `${k + 1}. ${sentence}`));
  return `${lines.join('\n')}\n`;
}
