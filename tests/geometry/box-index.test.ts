import { describe, expect, it } from 'vitest';
import { BoxIndex } from '../../src/geometry/box-index.js';
import { seeded } from './seeded.js';

const random = seeded(8).uniform;
const boxes = Array.from({ length: 500 }, () => {
  const [x, y] = [random() * 100, random() * 100];
  return { minX: x, minY: y, maxX: x + random() * 9, maxY: y + random() * 9 };
});

describe('boxes by their place', () => {
  it('are those that a comparison with every box finds', () => {
    const index = new BoxIndex(boxes);
    for (let i = 0; i < 300; i++) {
      const [x, y] = i < 10 ? [boxes[i].minX, boxes[i].maxY] : [random() * 110, random() * 110];
      const first = boxes.findIndex((b) => x >= b.minX && x <= b.maxX && y >= b.minY && y <= b.maxY);
      expect(index.firstAt(x, y)).toBe(first);
      const asked = { minX: x, minY: y, maxX: x + 5, maxY: y + 3 };
      const meeting = boxes.flatMap((b, k) =>
        b.minX <= asked.maxX && b.maxX >= asked.minX && b.minY <= asked.maxY && b.maxY >= asked.minY ? [k] : [],
      );
      expect(index.meeting(asked)).toEqual(meeting);
    }
  });

  it('without an extent are never found', () => {
    const none = { minX: Number.NaN, minY: 0, maxX: Number.NaN, maxY: 1 };
    const index = new BoxIndex([none, { minX: 5, minY: 0, maxX: 4, maxY: 1 }, { minX: 0, minY: 0, maxX: 9, maxY: 9 }]);
    expect(index.firstAt(5, 0.5)).toBe(2);
    expect(new BoxIndex([]).firstAt(0, 0)).toBe(-1);
  });
});
