import { Integer, passInteger } from './integer';
import { modelIn } from './probability-model';
import { pass, passWord, peek, Stream } from './stream';

/*
 * Wave packets, 29 bytes: descriptor index, offset (u64), size (u32), return point and direction (four f32 as bits).
 * `w` is the state: what the last offset's difference was coded as, that difference, then the models. `last` is the
 * last packet and is replaced.
 */
export const WAVEFORM_BYTES: usize = 29;
const KIND: usize = 0;
const DIFFERENCE: usize = 4;
const INDEX: usize = 8;
const KINDS: usize = 12;
const CODER_OFFSET: usize = 28;
const CODER_SIZE: usize = 164;
const CODER_POINT: usize = 300;
const CODER_DIRECTION: usize = 436;
/** Bytes of the state. */
export const WAVEFORM_STATE: usize = 584;

/** Reads the next wave packet. @returns the state of the stream behind it */
export function passWaveform(state: u64, w: usize, last: usize): u64 {
  const indices = modelIn(w + INDEX, 256);
  const index = peek(state, indices);
  state = pass(state, indices, index);
  const kinds = modelIn(w + KINDS + 4 * load<u32>(w, KIND), 4);
  const kind = peek(state, kinds);
  state = pass(state, kinds, kind);
  store<u32>(w, kind, KIND);
  const offset = load<u64>(last, 1);
  const size = load<u32>(last, 9);
  if (kind === 1) {
    store<u64>(last, offset + <u64>size, 1);
  } else if (kind === 2) {
    state = passInteger(state, w + CODER_OFFSET, 0, 32);
    const difference = load<i32>(w, DIFFERENCE) + Integer.difference;
    store<i32>(w, difference, DIFFERENCE);
    store<u64>(last, offset + <u64>(<i64>difference), 1);
  } else if (kind === 3) {
    state = passWord(state);
    store<u32>(last, Stream.word, 1);
    state = passWord(state);
    store<u32>(last, Stream.word, 5);
  }
  store<u8>(last, <u8>index);
  state = addNumber(state, w + CODER_SIZE, 0, last + 9);
  state = addNumber(state, w + CODER_POINT, 0, last + 13);
  state = addNumber(state, w + CODER_DIRECTION, 0, last + 17);
  state = addNumber(state, w + CODER_DIRECTION, 1, last + 21);
  state = addNumber(state, w + CODER_DIRECTION, 2, last + 25);
  return state;
}

function addNumber(state: u64, coder: usize, context: u32, address: usize): u64 {
  state = passInteger(state, coder, context, 32);
  store<i32>(address, load<i32>(address) + Integer.difference);
  return state;
}
