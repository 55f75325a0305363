import { readFileSync } from 'node:fs';
import { createServer, type IncomingMessage, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { gzipSync } from 'node:zlib';
import { afterAll, afterEach, beforeAll, describe, expect, test } from 'vitest';
import { openCloud } from '../../src/cloud/open.js';
import { openSource } from '../../src/cloud/source.js';
import { HttpSource } from '../../src/cloud/source-http.js';
import { Fault } from '../../src/fault.js';
import { collect, faultCode, KEYS, sameBytes } from './collect.js';

// Status codes and header fields: RFC 9110, range requests.

type Handler = (request: IncomingMessage, response: ServerResponse) => void;
let handle: Handler = () => {};
let requests: { method: string; url: string; range: string | undefined; authorization: string | undefined }[] = [];
const server = createServer((request, response) => {
  const { method = '', url = '' } = request;
  requests.push({ method, url, range: request.headers.range, authorization: request.headers.authorization });
  handle(request, response);
});
let base = '';
beforeAll(async () => {
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  base = `http://127.0.0.1:${(server.address() as AddressInfo).port}`;
});
afterAll(() => {
  server.closeAllConnections();
  server.close();
});
afterEach(() => {
  requests = [];
});

const quick = { attempts: 3, firstWaitMs: 1, timeoutMs: 2000 };
const body = Buffer.from(Uint8Array.from({ length: 300_000 }, (_, i) => (i * 31) % 253));

/** Answers ranges properly; `change` may alter the header fields. */
const serve =
  (bytes: Buffer, change: (headers: Record<string, string>) => void = () => {}): Handler =>
  (request, response) => {
    const match = /^bytes=(\d+)-(\d+)$/.exec(request.headers.range ?? '');
    if (!match) {
      response.writeHead(400).end();
      return;
    }
    const begin = Number(match[1]);
    const end = Math.min(Number(match[2]) + 1, bytes.length);
    if (begin >= bytes.length) {
      response.writeHead(416, { 'content-range': `bytes */${bytes.length}` }).end();
      return;
    }
    const headers: Record<string, string> = {
      'content-range': `bytes ${begin}-${end - 1}/${bytes.length}`,
      etag: '"one"',
    };
    change(headers);
    response.writeHead(206, headers).end(bytes.subarray(begin, end));
  };
const status =
  (code: number, headers: Record<string, string> = {}): Handler =>
  (_, response) =>
    response.writeHead(code, headers).end('<html>sorry</html>');

describe('a server that does it right', () => {
  test('ranges, size, traffic, and never anything but GET with a range', async () => {
    handle = serve(body);
    const source = await HttpSource.open(`${base}/some/path/tile.laz`, quick);
    expect([source.size, source.name]).toEqual([300_000, 'tile.laz']);
    // Inside the head block: no further request.
    expect(Buffer.from(await source.read(10, 60_000)).equals(body.subarray(10, 60_000))).toBe(true);
    expect(requests).toHaveLength(1);
    expect(Buffer.from(await source.read(100_000, 250_000)).equals(body.subarray(100_000, 250_000))).toBe(true);
    const into = new Uint8Array(400_000);
    const tail = await source.read(299_999, 300_000, into);
    expect([tail.buffer === into.buffer, tail[0]]).toEqual([true, body[299_999]]);
    expect(requests.every((r) => r.method === 'GET' && r.range?.startsWith('bytes='))).toBe(true);
    expect(source.traffic).toEqual({ requests: 3, bytes: 65_536 + 150_000 + 1 });
    expect(await faultCode(source.read(299_999, 300_001))).toBe('file-truncated');
  });

  test('a file smaller than the head block', async () => {
    handle = serve(body.subarray(0, 500));
    const source = await HttpSource.open(`${base}/small.las`, quick);
    expect(source.size).toBe(500);
    expect((await source.read(0, 500)).length).toBe(500);
  });

  test.each(['las/v14-pf07-extrabytes.las', 'laz/v12-pf03.laz', 'copc/v14-pf08.copc.laz'])(
    'a cloud over the network equals the file: %s',
    async (name) => {
      const path = `test-clouds/formats/${name}`;
      handle = serve(readFileSync(path));
      const remote = await openCloud(`${base}/${name}`);
      const local = await openCloud(path);
      const [a, b] = [await collect(remote), await collect(local)];
      for (const key of KEYS) expect(sameBytes(a[key], b[key]), key).toBe(true);
      await local.close();
      await remote.close();
    },
  );

  test('user and password become a header field and appear in no message', async () => {
    handle = serve(body);
    await HttpSource.open(`${base.replace('//', '//surveyor:s%20cret@')}/x.las`, quick);
    expect(requests[0].authorization).toBe(`Basic ${Buffer.from('surveyor:s cret').toString('base64')}`);
    handle = status(404);
    const error = await HttpSource.open(
      `${base.replace('//', '//surveyor:hidden@')}/x.las?token=alsohidden`,
      quick,
    ).catch((e) => e);
    expect(error).toBeInstanceOf(Fault);
    expect(requests[1].url).toBe('/x.las?token=alsohidden');
    expect(JSON.stringify(error) + error.message).not.toMatch(/hidden/);
  });
});

describe('a server that does not', () => {
  const cases: [string, Handler, string, RegExp][] = [
    ['404', status(404), 'remote-missing', /no such file \(404\)/],
    ['403', status(403), 'remote-refused', /refuses access \(403\).*signed/],
    ['200, the whole file', status(200), 'remote-no-ranges', /whole file.*\(200\).*206/],
    ['416 for an empty file', status(416, { 'content-range': 'bytes */0' }), 'remote-empty', /empty/],
    ['418', status(418), 'remote-error', /418 instead of 206/],
    ['206 without Content-Range', (_, r) => r.writeHead(206).end('x'), 'remote-no-ranges', /which bytes/],
    [
      '206 with another range',
      serve(body, (h) => {
        h['content-range'] = 'bytes 5-65540/300000';
      }),
      'remote-no-ranges',
      /were asked for and 5-65540 sent/,
    ],
    [
      '206 of unknown total',
      serve(body, (h) => {
        h['content-range'] = 'bytes 0-65535/*';
      }),
      'remote-no-ranges',
      /which bytes/,
    ],
  ];
  test.each(cases)('%s: one sentence, one request', async (_, handler, code, text) => {
    handle = handler;
    const error = await HttpSource.open(`${base}/tile.laz`, quick).catch((e) => e);
    expect(error).toBeInstanceOf(Fault);
    expect(error.facts.code).toBe(code);
    expect(error.message).toMatch(text);
    expect(requests).toHaveLength(1);
  });

  test('no server at all: tried again, then said in words', async () => {
    const error = await HttpSource.open('http://127.0.0.1:9/tile.laz', quick).catch((e) => e);
    expect(error.facts).toMatchObject({ code: 'remote-unreachable', where: 'http://127.0.0.1:9/tile.laz' });
  });

  test('not a URL', async () => {
    expect(await faultCode(openSource('http://'))).toBe('address-unsupported');
  });
});

/** A server that sends the right header fields for the first bytes, and then whatever `send` does. */
const begins =
  (send: (response: ServerResponse) => void, headers: Record<string, string> = {}): Handler =>
  (_, response) => {
    response.writeHead(206, { 'content-range': 'bytes 0-65535/300000', etag: '"one"', ...headers });
    send(response);
  };
/** Runs `act` every few milliseconds until the answer is closed. */
const keepOn = (response: ServerResponse, everyMs: number, act: () => void) => {
  const timer = setInterval(act, everyMs);
  response.on('close', () => clearInterval(timer));
};

describe('a server without measure', () => {
  test('that sends more than was asked for is not read any further', async () => {
    let sent = 0;
    let closed: Promise<unknown> = Promise.resolve();
    const piece = Buffer.alloc(65_536);
    handle = begins((response) => {
      closed = new Promise((done) => response.on('close', done));
      const more = () => {
        while (!response.destroyed && sent < 1 << 28) {
          sent += piece.length;
          if (!response.write(piece)) {
            response.once('drain', more);
            return;
          }
        }
      };
      more();
    });
    const error = await HttpSource.open(`${base}/tile.laz`, quick).catch((e) => e);
    expect(error.facts.code).toBe('remote-too-much');
    expect(error.message).toMatch(/sends more than the 65536 bytes that were asked for/);
    await closed;
    expect(sent).toBeLessThan(1 << 26);
    expect(requests).toHaveLength(1);
  });

  test('that announces more than was asked for is not read at all', async () => {
    handle = begins((response) => response.flushHeaders(), { 'content-length': '3000000000' });
    expect(await faultCode(HttpSource.open(`${base}/tile.laz`, quick))).toBe('remote-too-much');
  });

  test('that compresses ranges is refused in a sentence', async () => {
    handle = begins((response) => response.end(gzipSync(body.subarray(0, 65_536))), { 'content-encoding': 'gzip' });
    const error = await HttpSource.open(`${base}/tile.laz`, quick).catch((e) => e);
    expect(error.facts.code).toBe('remote-encoded');
    expect(error.message).toMatch(/sends compressed bytes \(gzip\).*Turn compression off/);
    expect(requests).toHaveLength(1);
  });

  test('that sends a byte now and then is given up', async () => {
    handle = begins((response) => keepOn(response, 10, () => response.write('x')));
    const begun = Date.now();
    const error = await HttpSource.open(`${base}/tile.laz`, { ...quick, timeoutMs: 300 }).catch((e) => e);
    expect(error.message).toMatch(/fewer than 1000 bytes a second.*--timeout/);
    expect(Date.now() - begun).toBeLessThan(1500);
  });

  test('that is slow but steady is read to the end', async () => {
    handle = begins((response) => {
      let sent = 0;
      keepOn(response, 10, () => {
        response.write(body.subarray(sent, sent + 6000).subarray(0, 65_536 - sent));
        sent += 6000;
        if (sent >= 65_536) response.end();
      });
    });
    const source = await HttpSource.open(`${base}/tile.laz`, { ...quick, timeoutMs: 80 });
    expect(Buffer.from(await source.read(0, 65_536)).equals(body.subarray(0, 65_536))).toBe(true);
  });

  test('that falls silent later is asked once more', async () => {
    handle = serve(body);
    const source = await HttpSource.open(`${base}/tile.laz`, { ...quick, attempts: 5, timeoutMs: 60 });
    handle = () => {};
    requests = [];
    expect(await faultCode(source.read(100_000, 200_000))).toBe('remote-silent');
    expect(requests).toHaveLength(2);
    let left = 1;
    const good = serve(body);
    handle = (q, r) => (left-- > 0 ? undefined : good(q, r));
    expect((await source.read(100_000, 200_000)).length).toBe(100_000);
  });
});

// RFC 9110, section 10.2.3: seconds, or a date.
describe('a server that asks to wait', () => {
  const waiting = (retryAfter: () => string) => {
    let left = 1;
    const good = serve(body);
    const busy: Handler = (_, response) => response.writeHead(503, { 'retry-after': retryAfter() }).end();
    handle = (q, r) => (left-- > 0 ? busy(q, r) : good(q, r));
  };

  test.each<[string, () => string]>([
    ['in seconds', () => '1'],
    ['until a time', () => new Date(Date.now() + 2000).toUTCString()],
  ])('%s is asked again after that time', async (_, retryAfter) => {
    waiting(retryAfter);
    const begun = Date.now();
    const source = await HttpSource.open(`${base}/tile.laz`, quick);
    expect(source.size).toBe(300_000);
    expect(Date.now() - begun).toBeGreaterThanOrEqual(990);
    expect(requests).toHaveLength(2);
  });

  test('for longer than a minute is not waited for', async () => {
    waiting(() => '3600');
    const error = await HttpSource.open(`${base}/tile.laz`, quick).catch((e) => e);
    expect(error.message).toMatch(/answered 503 .* and asks to wait 3600 s/);
    expect(requests).toHaveLength(1);
  });
});

describe('bad days', () => {
  test.each([500, 503, 429])('%i twice, then the bytes', async (code) => {
    let left = 2;
    const good = serve(body);
    handle = (q, r) => (left-- > 0 ? status(code)(q, r) : good(q, r));
    const source = await HttpSource.open(`${base}/tile.laz`, quick);
    expect(source.size).toBe(300_000);
    expect(requests).toHaveLength(3);
  });

  test('503 for good: a Fault after the last attempt', async () => {
    handle = status(503);
    expect(await faultCode(HttpSource.open(`${base}/tile.laz`, quick))).toBe('remote-error');
    expect(requests).toHaveLength(3);
  });

  test('a connection that breaks off in the middle is tried again', async () => {
    let left = 1;
    const good = serve(body);
    handle = (q, r) => {
      if (left-- > 0) {
        r.writeHead(206, { 'content-range': 'bytes 0-65535/300000', 'content-length': '65536', etag: '"one"' });
        r.write(body.subarray(0, 1000), () => r.destroy());
      } else good(q, r);
    };
    const source = await HttpSource.open(`${base}/tile.laz`, quick);
    expect(Buffer.from(await source.read(0, 65_536)).equals(body.subarray(0, 65_536))).toBe(true);
  });

  test('a server that sends too little and says nothing', async () => {
    handle = (_, r) => r.writeHead(206, { 'content-range': 'bytes 0-65535/300000' }).end('short');
    expect(await faultCode(HttpSource.open(`${base}/tile.laz`, quick))).toBe('remote-unreachable');
  });

  test('a server that never answers', async () => {
    handle = () => {};
    expect(await faultCode(HttpSource.open(`${base}/tile.laz`, { ...quick, timeoutMs: 50 }))).toBe('remote-silent');
    expect(requests).toHaveLength(1);
  });

  test.each([
    [
      'another ETag',
      (h: Record<string, string>) => {
        h.etag = '"two"';
      },
    ],
    [
      'another size',
      (h: Record<string, string>) => {
        h['content-range'] = h['content-range'].replace('300000', '300001');
      },
    ],
  ])('the file changes under our hands: %s', async (_, change) => {
    handle = serve(body);
    const source = await HttpSource.open(`${base}/tile.laz`, quick);
    handle = serve(body, change);
    expect(await faultCode(source.read(100_000, 100_010))).toBe('file-changed');
  });

  test('identity carries the tag', async () => {
    handle = serve(body);
    const one = (await HttpSource.open(`${base}/tile.laz`, quick)).identity;
    handle = serve(body, (h) => {
      h.etag = '"two"';
    });
    expect((await HttpSource.open(`${base}/tile.laz`, quick)).identity).not.toBe(one);
  });
});
