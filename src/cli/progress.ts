import { Writable } from 'node:stream';
import type { Progress } from '../run/check-delivery.js';
import type { Streams } from './io.js';

/** A progress bar; every call does nothing where no bar is shown. */
export interface ProgressBar {
  update(progress: Progress): void;
  /** Bytes read of a side file, and bytes of the whole file. */
  reading(progress: { file: string; done: number; total: number }): void;
  stop(): void;
}

/** A bar with points per second and remaining time, shown only on a terminal. */
export async function progressBar(streams: Streams, wanted: boolean): Promise<ProgressBar> {
  if (!wanted || streams.errTerminal.isTTY !== true) return { update: () => {}, reading: () => {}, stop: () => {} };
  const { default: cliProgress } = await import('cli-progress');
  const started = Date.now();
  const look = {
    stream: terminalOf(streams),
    barCompleteChar: '=',
    barIncompleteChar: '-',
    barsize: 24,
    hideCursor: true,
    clearOnComplete: true,
    fps: 5,
  };
  const bar = new cliProgress.SingleBar({
    ...look,
    format: '  {bar} {percentage} %  {million} million points  {rate} million points/s  {left}',
  });
  const sideFile = new cliProgress.SingleBar({ ...look, format: '  {bar} {percentage} %  {file}' });
  let running = false;
  let reading = false;
  return {
    update({ pointsDone, pointsTotal }) {
      if (pointsTotal === 0) return;
      const seconds = (Date.now() - started) / 1000;
      const rate = seconds > 0 ? pointsDone / seconds : 0;
      const payload = {
        million: (pointsDone / 1e6).toFixed(1),
        rate: (rate / 1e6).toFixed(1),
        left: rate > 0 ? `${duration((pointsTotal - pointsDone) / rate)} left` : '',
      };
      if (!running) bar.start(pointsTotal, pointsDone, payload);
      else bar.update(pointsDone, payload);
      running = true;
    },
    reading({ file, done, total }) {
      if (!reading) sideFile.start(total, done, { file });
      else sideFile.update(done, { file });
      reading = done < total;
      if (!reading) sideFile.stop();
    },
    stop() {
      if (reading) sideFile.stop();
      if (running) bar.stop();
    },
  };
}

/** Standard error as the stream of a terminal, whichever thread writes to it. */
function terminalOf({ err, errTerminal }: Streams): NodeJS.WritableStream {
  const stream = new Writable({
    write(text, _encoding, done) {
      err(String(text));
      done();
    },
  });
  return Object.assign(stream, { isTTY: true, columns: errTerminal.columns });
}

function duration(seconds: number): string {
  if (seconds < 90) return `${Math.ceil(seconds)} s`;
  if (seconds < 5400) return `${Math.ceil(seconds / 60)} min`;
  return `${(seconds / 3600).toFixed(1)} h`;
}
