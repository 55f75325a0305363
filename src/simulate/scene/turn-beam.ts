/**
 * Turns a vector from forward, left, up by errors of attitude, radians: roll (left side up), then pitch (front up), then heading
 * (clockwise), each about the axes of the vehicle. `vector` is changed.
 */
export function turnBeam(vector: Float64Array, roll: number, pitch: number, heading: number): void {
  const [forward, left, up] = vector;
  const l = left * Math.cos(roll) - up * Math.sin(roll);
  const raised = left * Math.sin(roll) + up * Math.cos(roll);
  const f = forward * Math.cos(pitch) - raised * Math.sin(pitch);
  vector[2] = forward * Math.sin(pitch) + raised * Math.cos(pitch);
  vector[0] = f * Math.cos(heading) + l * Math.sin(heading);
  vector[1] = l * Math.cos(heading) - f * Math.sin(heading);
}
