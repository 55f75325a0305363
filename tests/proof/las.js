// LAS 1.4 R16 writer of the proof, point format 6, written from the byte layout of the specification (public header block
// 2.4, variable length records 2.5, point data record format 6 2.6). It shares nothing with the writer of src/simulate.

const HEADER = 375;
const RECORD = 30;
const SCALE = 0.001;

const DEGREE = 'UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]]';
const SPHERE = 'SPHEROID["GRS 1980",6378137,298.257222101,AUTHORITY["EPSG","7019"]]';
const DATUM = `DATUM["European_Terrestrial_Reference_System_1989",${SPHERE},AUTHORITY["EPSG","6258"]]`;
const GEOGRAPHIC = `GEOGCS["ETRS89",${DATUM},PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],${DEGREE},AUTHORITY["EPSG","4258"]]`;

/** WKT 1 of ETRS89 / UTM zone `zone`N with DHHN2016 heights (EPSG dataset, from memory). */
function wkt(zone = 33) {
  const metre = 'UNIT["metre",1,AUTHORITY["EPSG","9001"]]';
  const central = zone * 6 - 183;
  const projected = `PROJCS["ETRS89 / UTM zone ${zone}N",${GEOGRAPHIC},PROJECTION["Transverse_Mercator"],PARAMETER["latitude_of_origin",0],PARAMETER["central_meridian",${central}],PARAMETER["scale_factor",0.9996],PARAMETER["false_easting",500000],PARAMETER["false_northing",0],${metre},AXIS["Easting",EAST],AXIS["Northing",NORTH],AUTHORITY["EPSG","${25800 + zone}"]]`;
  const vertical = `VERT_CS["DHHN2016 height",VERT_DATUM["Deutsches Haupthoehennetz 2016",2005,AUTHORITY["EPSG","1170"]],${metre},AXIS["Gravity-related height",UP],AUTHORITY["EPSG","7837"]]`;
  return `COMPD_CS["ETRS89 / UTM zone ${zone}N + DHHN2016 height",${projected},${vertical}]`;
}

/** Bytes of a LAS file from the points of `cloud` at the places `chosen`; `options.zone` is the UTM zone it states. */
export function lasBytes(cloud, chosen, options = {}) {
  const text = Buffer.from(`${wkt(options.zone ?? 33)}\0`, 'ascii');
  const start = HEADER + 54 + text.length;
  const bytes = Buffer.alloc(start + chosen.length * RECORD);
  const offset = options.offset ?? [390_000, 5_810_000, 0];
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  const byReturn = new Array(15).fill(0);
  const axes = [cloud.x, cloud.y, cloud.z];
  let at = start;
  for (const i of chosen) {
    for (let axis = 0; axis < 3; axis++) {
      const stored = Math.round((axes[axis][i] - offset[axis]) / SCALE);
      bytes.writeInt32LE(stored, at + 4 * axis);
      const value = stored * SCALE + offset[axis];
      if (value < low[axis]) low[axis] = value;
      if (value > high[axis]) high[axis] = value;
    }
    bytes.writeUInt16LE(cloud.intensity[i], at + 12);
    bytes[at + 14] = cloud.returnNumber[i] | (cloud.returns[i] << 4);
    bytes[at + 15] = (cloud.head[i] & 3) << 4;
    bytes[at + 16] = cloud.class[i];
    bytes.writeUInt16LE(cloud.pass[i], at + 20);
    bytes.writeDoubleLE(cloud.time[i], at + 22);
    if (cloud.returnNumber[i] >= 1) byReturn[cloud.returnNumber[i] - 1]++;
    at += RECORD;
  }
  bytes.write('LASF', 0, 'ascii');
  bytes.writeUInt16LE(options.encoding ?? 17, 6); // standard GPS time, WKT
  bytes[24] = 1;
  bytes[25] = 4;
  bytes.write('OTHER', 26, 'ascii');
  bytes.write('proof simulator', 58, 'ascii');
  bytes.writeUInt16LE(200, 90);
  bytes.writeUInt16LE(2025, 92);
  bytes.writeUInt16LE(HEADER, 94);
  bytes.writeUInt32LE(start, 96);
  bytes.writeUInt32LE(1, 100);
  bytes[104] = 6;
  bytes.writeUInt16LE(RECORD, 105);
  for (let axis = 0; axis < 3; axis++) {
    bytes.writeDoubleLE(SCALE, 131 + 8 * axis);
    bytes.writeDoubleLE(offset[axis], 155 + 8 * axis);
    bytes.writeDoubleLE(chosen.length > 0 ? high[axis] : 0, 179 + 16 * axis);
    bytes.writeDoubleLE(chosen.length > 0 ? low[axis] : 0, 187 + 16 * axis);
  }
  bytes.writeBigUInt64LE(BigInt(chosen.length), 247);
  for (let r = 0; r < 15; r++) bytes.writeBigUInt64LE(BigInt(byReturn[r]), 255 + 8 * r);
  bytes.write('LASF_Projection', HEADER + 2, 'ascii');
  bytes.writeUInt16LE(2112, HEADER + 18);
  bytes.writeUInt16LE(text.length, HEADER + 20);
  bytes.write('coordinate system', HEADER + 22, 'ascii');
  text.copy(bytes, HEADER + 54);
  return bytes;
}
