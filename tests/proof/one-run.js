// Child of proof.js: runs cases one after the other, as its parent asks, and sends what was observed.
import { cases } from './cases.js';
import { randomFrom } from './random.js';

process.on('message', ({ id, seed }) => {
  const found = cases.find((each) => each.id === id);
  let result;
  try {
    const number = cases.indexOf(found);
    result = found.make(randomFrom(1000 * seed + number));
  } catch (error) {
    result = { broken: error.stack ?? String(error) };
  }
  process.send({ id, seed, cpu: processorSeconds(), ...result });
});

/** Processor seconds in user mode of this process and the programs it has run. */
function processorSeconds() {
  return process.cpuUsage().user / 1e6;
}
