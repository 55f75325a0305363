import { deserialize } from 'node:v8';
import { describe, expect, it } from 'vitest';
import { factKey } from '../../src/engine/fact-key.js';
import type { Assignment } from '../../src/engine/job.js';
import { putShared } from '../../src/engine/shared-data.js';
import { WorkerPool } from '../../src/engine/worker-pool.js';

const trackOf = (digest: string, length = 3) => ({
  digest,
  shared: { time: new Float64Array(new SharedArrayBuffer(8 * length)) },
});

describe('data in shared memory', () => {
  it('is named by its digest alone in the key of a fact', () => {
    const request = (track: unknown) => ({ measurement: 'range-cells', params: { cell: 1, track } });
    expect(factKey(request(trackOf('one', 3)))).toBe(factKey(request(trackOf('one', 5))));
    expect(factKey(request(trackOf('one')))).not.toBe(factKey(request(trackOf('two'))));
    expect(factKey(request(trackOf('one', 100_000))).length).toBeLessThan(100);
  });

  it('travels beside the assignment, once, and is not copied', () => {
    const track = trackOf('one', 100_000);
    const assignment = {
      measurements: [
        { id: 'a', params: { cell: 1, track } },
        { id: 'b', params: { list: [track, null], area: Float64Array.of(1, 2) } },
      ],
      columns: ['gpsTime'],
    } as unknown as Assignment;
    const { bytes, arrays } = new WorkerPool(1).share(assignment);
    expect(arrays).toEqual([track.shared]);
    expect(bytes.byteLength).toBeLessThan(1000);
    const known = deserialize(Uint8Array.from(new Uint8Array(bytes))) as typeof assignment;
    const [a, b] = putShared(known.measurements, arrays) as unknown as { params: never }[];
    expect((a.params as { track: typeof track }).track.shared).toBe(track.shared);
    expect((b.params as { list: (typeof track)[] }).list[0].shared).toBe(track.shared);
    expect(known).toEqual(assignment);
    // The assignment itself is left as it was.
    expect(assignment.measurements[0].params).toEqual({ cell: 1, track });
  });
});
