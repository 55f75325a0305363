/** The same points as format 1 in LAS 1.2: what older scanners deliver. */
export function asFormatOne(las6) {
  const view = new DataView(las6.buffer, las6.byteOffset, las6.byteLength);
  const start = view.getUint32(96, true);
  const count = Number(view.getBigUint64(247, true));
  const out = new Uint8Array(227 + count * 28);
  out.set(las6.subarray(0, 227));
  const target = new DataView(out.buffer);
  target.setUint8(25, 2);
  target.setUint16(6, 1, true);
  target.setUint16(94, 227, true);
  target.setUint32(96, 227, true);
  target.setUint32(100, 0, true);
  target.setUint8(104, 1);
  target.setUint16(105, 28, true);
  target.setUint32(107, count, true);
  const byReturn = new Uint32Array(5);
  for (let i = 0; i < count; i++) {
    const from = start + i * 30;
    const to = 227 + i * 28;
    out.set(las6.subarray(from, from + 14), to);
    const number = Math.min(5, view.getUint8(from + 14) & 15);
    const returns = Math.min(5, view.getUint8(from + 14) >> 4);
    if (number >= 1) byReturn[number - 1]++;
    target.setUint8(to + 14, number | (returns << 3));
    target.setUint8(to + 15, Math.min(31, view.getUint8(from + 16)));
    target.setUint16(to + 18, view.getUint16(from + 20, true), true);
    out.set(las6.subarray(from + 22, from + 30), to + 20);
  }
  for (let k = 0; k < 5; k++) target.setUint32(111 + k * 4, byReturn[k], true);
  return out;
}
