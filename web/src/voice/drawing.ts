// Small sums for the panel's pictures: ranges with air around them, and labels that lie on nothing.
import { straight_ticks } from "../parts/scales";

export interface Axis {
  low: number;
  high: number;
  ticks: number[];
}

/** An axis that holds all values, with a little air on both sides, and never below `least`. */
export function axis_for(values: readonly number[], most_ticks: number, least = -Infinity): Axis {
  const low = Math.min(...values);
  const high = Math.max(...values);
  const air = 0.12 * (high - low) || 0.1 * Math.abs(high) || 1;
  const from = Math.max(least, low - air);
  return { low: from, high: high + air, ticks: straight_ticks(from, high + air, most_ticks) };
}

/** An axis of counts by their powers of ten, from the first to the last. */
export function tens(first: number, last: number): Axis {
  const low = Math.log10(Math.max(1, first));
  const high = Math.max(Math.log10(Math.max(1, last)), low + 0.1);
  const ticks = Array.from({ length: 8 }, (_, power) => power).filter((power) => power >= low && power <= high);
  return { low, high, ticks };
}

/** Where a value lies between two ends of a drawing. */
export function placed(axis: Axis, value: number, start: number, end: number): number {
  return start + ((value - axis.low) / (axis.high - axis.low)) * (end - start);
}

export interface Dot {
  x: number;
  y: number;
  words: string;
}

interface Box {
  left: number;
  right: number;
  top: number;
  bottom: number;
}

const LETTER = 7.5;
const HIGH = 13;
const DOT = 6;

/** Places for the words of dots, their middles: near their dot, not below `lowest`, on no other dot and on no other words. */
export function labels(dots: readonly Dot[], lowest = Infinity): { x: number; y: number }[] {
  const taken: Box[] = dots.map(({ x, y }) => ({ left: x - DOT, right: x + DOT, top: y - DOT, bottom: y + DOT }));
  return dots.map(({ x, y, words }) => {
    const half = (LETTER * words.length) / 2;
    const tries = [1, 1.9, 2.8, 3.7].flatMap((far) =>
      [[0, -1], [0, 1], [1, 0], [-1, 0], [1, -1], [-1, -1], [1, 1], [-1, 1]].map(([across = 0, down = 0]) => ({
        x: x + across * (half + DOT + 2) * (down ? far : 1) + (down ? 0 : across * (far - 1) * 10),
        y: y + down * (DOT + HIGH / 2) * far,
      })),
    );
    const box_at = (place: { x: number; y: number }): Box => ({
      left: place.x - half, right: place.x + half, top: place.y - HIGH / 2, bottom: place.y + HIGH / 2,
    });
    const free = tries.find((place) => box_at(place).bottom <= lowest && !taken.some((box) => overlap(box, box_at(place)))) ?? { x, y: y - DOT - HIGH / 2 };
    taken.push(box_at(free));
    return free;
  });
}

function overlap(one: Box, other: Box): boolean {
  return one.left < other.right && other.left < one.right && one.top < other.bottom && other.top < one.bottom;
}
