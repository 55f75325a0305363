/** Where the vehicle is in the frame of the street, metres, and how it moves. */
export interface VehicleState {
  u: number;
  v: number;
  /** Direction of travel, radians, counter-clockwise from u. */
  direction: number;
  /** Metres a second. */
  speed: number;
}

/** A place and a direction of travel in the frame of the street, metres and radians. */
export type Pose = Omit<VehicleState, 'speed'>;

/** A piece of the way with one acceleration and one curvature. */
interface Piece extends VehicleState {
  /** Seconds since the begin of the drive, and its duration. */
  time: number;
  seconds: number;
  /** Metres driven before it, and in it. */
  distance: number;
  metres: number;
  /** Metres a second squared. */
  acceleration: number;
  /** Radians a metre, left turns positive. */
  curvature: number;
}

/** Acceleration and deceleration of the vehicle, metres a second squared. */
const ACCELERATION = 2;

/**
 * The way of the vehicle: straight lines, arcs and stops, piece after piece. Place and speed are exact functions of time, so that they
 * can be compared with what a program finds in the rows of a trajectory.
 */
export class Motion {
  readonly #pieces: Piece[] = [];
  #end: VehicleState;
  #seconds = 0;
  #metres = 0;
  #last = 0;

  constructor(begin: Pose) {
    this.#end = { ...begin, speed: 0 };
  }

  /** Seconds and metres so far, and where the vehicle is then. */
  get seconds(): number {
    return this.#seconds;
  }
  get metres(): number {
    return this.#metres;
  }
  get end(): Readonly<VehicleState> {
    return this.#end;
  }

  /** Stands for some seconds. @throws RangeError for a vehicle that moves */
  stand(seconds: number): void {
    if (this.#end.speed > 1e-9) throw new RangeError('a vehicle that moves cannot stand');
    if (seconds > 0) this.#add(seconds, 0, 0, 0);
  }

  /** Drives some metres with one curvature; the speed changes steadily to `speed`, metres a second. */
  drive(metres: number, speed = this.#end.speed, curvature = 0): void {
    if (metres <= 0) return;
    const mean = (this.#end.speed + speed) / 2;
    if (mean <= 0) throw new RangeError('a vehicle without speed does not move');
    this.#add(metres / mean, metres, (speed - this.#end.speed) / (metres / mean), curvature);
    this.#end = { ...this.#end, speed };
  }

  /** Changes the speed on a straight line. */
  reach(speed: number): void {
    this.drive(distanceToReach(this.#end.speed, speed), speed);
  }

  /** Where the vehicle is at a time, seconds since the begin; before and after the drive it stands. `out` is written. */
  stateAt(seconds: number, out: VehicleState): void {
    const piece = this.#pieceAt((p) => p.time <= seconds);
    if (piece === undefined || seconds >= this.#seconds) {
      Object.assign(out, piece === undefined ? { ...this.#end, speed: 0 } : { ...this.#end });
      return;
    }
    const t = Math.max(0, seconds - piece.time);
    place(piece, piece.speed * t + (piece.acceleration * t * t) / 2, out);
    out.speed = piece.speed + piece.acceleration * t;
  }

  /** Seconds since the begin at which the vehicle has driven so many metres; where it stands there, when it arrives. */
  timeAt(metres: number): number {
    const piece = this.#pieceAt((p) => p.distance < metres)!;
    const s = Math.min(Math.max(0, metres - piece.distance), piece.metres);
    if (s === piece.metres) return piece.time + piece.seconds;
    const root = Math.sqrt(Math.max(0, piece.speed * piece.speed + 2 * piece.acceleration * s));
    return piece.time + (s === 0 ? 0 : (2 * s) / (piece.speed + root));
  }

  #add(seconds: number, metres: number, acceleration: number, curvature: number): void {
    const piece: Piece = {
      ...this.#end,
      time: this.#seconds,
      seconds,
      distance: this.#metres,
      metres,
      acceleration,
      curvature,
    };
    this.#pieces.push(piece);
    place(piece, metres, this.#end);
    this.#seconds += seconds;
    this.#metres += metres;
  }

  /** The last piece for which something holds that holds for the first pieces only. Neighbouring times are found at once. */
  #pieceAt(holds: (piece: Piece) => boolean): Piece | undefined {
    const pieces = this.#pieces;
    let at = Math.min(this.#last, pieces.length - 1);
    while (at + 1 < pieces.length && holds(pieces[at + 1])) at++;
    while (at > 0 && !holds(pieces[at])) at--;
    this.#last = at;
    return pieces[at];
  }
}

/** Metres in which the speed changes, metres a second. */
export function distanceToReach(from: number, to: number): number {
  return Math.abs(to * to - from * from) / (2 * ACCELERATION);
}

/** The place after `s` metres of a piece. */
function place({ u, v, direction, curvature }: Readonly<Piece>, s: number, out: Pose): void {
  const turned = direction + curvature * s;
  if (curvature === 0) {
    out.u = u + s * Math.cos(direction);
    out.v = v + s * Math.sin(direction);
  } else {
    out.u = u + (Math.sin(turned) - Math.sin(direction)) / curvature;
    out.v = v - (Math.cos(turned) - Math.cos(direction)) / curvature;
  }
  out.direction = turned;
}
