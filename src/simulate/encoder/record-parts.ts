/** Byte positions of the parts of a point record; -1 where the format lacks the part (LAS 1.4 R15, 2.6). */
export interface RecordParts {
  format: number;
  recordLength: number;
  layered: boolean;
  time: number;
  colour: number;
  nir: number;
  waveform: number;
  extra: number;
  extraLength: number;
}

const LENGTH = [20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67];
const TIME = [-1, 20, -1, 20, 20, 20, 22, 22, 22, 22, 22];
const COLOUR = [-1, -1, 20, 28, -1, 28, -1, 30, 30, -1, 30];
const NIR = [-1, -1, -1, -1, -1, -1, -1, -1, 36, -1, 36];
const WAVEFORM = [-1, -1, -1, -1, 28, 34, -1, -1, -1, 30, 38];

/** Byte positions of the parts of a record of a format, 0 to 10. */
export function recordParts(format: number, recordLength: number): RecordParts {
  return {
    format,
    recordLength,
    layered: format > 5,
    time: TIME[format],
    colour: COLOUR[format],
    nir: NIR[format],
    waveform: WAVEFORM[format],
    extra: LENGTH[format],
    extraLength: recordLength - LENGTH[format],
  };
}
