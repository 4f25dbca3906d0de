import { expect, test } from "vitest";
import { axis_for, labels, placed, tens } from "./drawing";

test("an axis holds all values with air around them", () => {
  const axis = axis_for([10, 20], 4);
  expect(axis.low).toBeCloseTo(8.8);
  expect(axis.high).toBeCloseTo(21.2);
  expect(axis.ticks).toEqual([10, 15, 20]);
  expect(axis_for([0.1, 3], 4, 0).low).toBe(0);
  const single = axis_for([5], 3);
  expect(single.low).toBeLessThan(5);
  expect(single.high).toBeGreaterThan(5);
  expect(placed(axis, 15, 0, 100)).toBeCloseTo(50);
});

test("counts stand by their powers of ten", () => {
  expect(tens(60, 6177).ticks).toEqual([2, 3]);
  expect(placed(tens(10, 1000), 2, 0, 100)).toBeCloseTo(50);
  expect(tens(5, 5).high).toBeGreaterThan(tens(5, 5).low);
});

test("labels of crowded dots lie on no dot and on no other label", () => {
  const dots = [[50, 50], [53, 51], [56, 49], [50, 56]].map(([x = 0, y = 0], index) => ({ x, y, words: String(index + 1) }));
  const places = labels(dots, 60);
  for (const { y } of places) expect(y + 6).toBeLessThanOrEqual(60);
  places.forEach((one, index) => {
    for (const { x, y } of dots) expect(Math.abs(x - one.x) >= 9 || Math.abs(y - one.y) >= 12).toBe(true);
    places.slice(index + 1).forEach((other) => {
      expect(Math.abs(one.x - other.x) >= 7 || Math.abs(one.y - other.y) >= 12).toBe(true);
    });
  });
});
