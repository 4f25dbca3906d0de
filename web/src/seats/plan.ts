// The room from above in pixels: the speaker's wall at the top, x downward, y to the right.
import type { Spot } from "./moves";

const WIDEST = 520;
const TALLEST = 392;
const LEFT = 26;
const TOP = 24;
const MARGIN = 10;

export interface PlanScale {
  px_per_m: number;
  left: number;
  top: number;
  width: number;
  height: number;
}

export function plan_scale(room: { length_m: number; width_m: number }): PlanScale {
  const across = WIDEST - LEFT - MARGIN;
  const down = TALLEST - TOP - MARGIN;
  const px_per_m = Math.min(across / room.width_m, down / room.length_m);
  const width = Math.floor(Math.max(240, px_per_m * room.width_m) + LEFT + MARGIN);
  const height = Math.floor(px_per_m * room.length_m + TOP + MARGIN);
  return { px_per_m, left: LEFT + (width - LEFT - MARGIN - px_per_m * room.width_m) / 2, top: TOP, width, height };
}

export function to_px(scale: PlanScale, spot: Spot): [number, number] {
  return [scale.left + spot.y_m * scale.px_per_m, scale.top + spot.x_m * scale.px_per_m];
}

export function to_room(scale: PlanScale, x_px: number, y_px: number): Spot {
  return { x_m: (y_px - scale.top) / scale.px_per_m, y_m: (x_px - scale.left) / scale.px_per_m };
}

/** A name on at most two short lines. */
export function wrapped(name: string, longest = 12): string[] {
  const space = name.indexOf(" ");
  const lines = space < 0 ? [name] : [name.slice(0, space), name.slice(space + 1)];
  return lines.map((line) => (line.length > longest ? `${line.slice(0, longest - 1).trimEnd()}…` : line));
}

/** One row a seat: of several speakers the one that is heard least evenly. */
export function worst_of_each<T extends { name: string; spread_db: number }>(rows: readonly T[]): T[] {
  const worst = new Map<string, T>();
  for (const row of rows) {
    const before = worst.get(row.name);
    if (!before || row.spread_db > before.spread_db) worst.set(row.name, row);
  }
  return [...worst.values()];
}
