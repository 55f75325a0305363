import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { expect, test } from 'vitest';
import { main } from '../../src/cli/program.js';
import { timeoutSeconds } from '../../src/cli/timeout.js';

test('a time is 1 to 300 seconds', () => {
  expect([timeoutSeconds('1'), timeoutSeconds('2.5'), timeoutSeconds('300')]).toEqual([1, 2.5, 300]);
  for (const text of ['0', '301', 'soon', '']) expect(() => timeoutSeconds(text)).toThrow(/1 to 300 seconds/);
});

test('a server that says nothing is given up after that time, in one sentence', async () => {
  let requests = 0;
  const server = createServer(() => {
    requests++;
  });
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  const address = `http://127.0.0.1:${(server.address() as AddressInfo).port}/a.las`;
  let err = '';
  const streams = { out: () => {}, err: (text: string) => (err += text), errTerminal: {}, outTerminal: {}, env: {} };
  try {
    expect(
      await main(['inspect', address, '--timeout', '1'], { ...streams, err: (text) => void streams.err(text) }),
    ).toBe(3);
  } finally {
    server.closeAllConnections();
    server.close();
  }
  expect(err).toMatch(/^cloudassay: .*a\.las: the server sent nothing for 1 s\. Try again later.*--timeout\.\n$/);
  expect(requests).toBe(1);
});
