// From gestures on the plan to what is written into the files.
import type { Change, Placement, SeatRow } from "../picture";
import { quantity_text } from "../parts/words";

export interface Spot {
  x_m: number;
  y_m: number;
}

const CENTIMETRE = 0.01;

/** Whole centimetres inside the room, off the walls by one. */
export function snapped(spot: Spot, room: { length_m: number; width_m: number }): Spot {
  const within = (value: number, most: number) =>
    Math.min(most - CENTIMETRE, Math.max(CENTIMETRE, Math.round(value / CENTIMETRE) * CENTIMETRE));
  return { x_m: tidy(within(spot.x_m, room.length_m)), y_m: tidy(within(spot.y_m, room.width_m)) };
}

const tidy = (value: number) => Number(value.toFixed(3));
const metres = (value: number) => quantity_text(value, "m", 3);

/** A turn or tilt as it is written: half degrees, from −180 to 180. */
export function turned(degrees: number): number {
  const whole = Math.round(degrees * 2) / 2;
  const wrapped = ((((whole + 180) % 360) + 360) % 360) - 180;
  return wrapped === -180 ? 180 : wrapped;
}

/** The turn that faces a point of the plan: x is downward, y to the right, turns are positive toward y. */
export function turn_toward(from: Spot, to: Spot): number {
  return turned((Math.atan2(to.y_m - from.y_m, to.x_m - from.x_m) * 180) / Math.PI);
}

export function seat_moved(seat: SeatRow, spot: Spot): Change[] {
  return [{ file: "brief", path: ["seats", seat.name, "position"], text: `[${metres(spot.x_m)}, ${metres(spot.y_m)}]` }];
}

export function ear_raised(seat: SeatRow, ear_m: number): Change[] {
  return [{ file: "brief", path: ["seats", seat.name, "ear height"], text: metres(ear_m) }];
}

/** The candidate's own placement changes; the brief, which other candidates share, stays as it is. */
export function speaker_moved(placement: Placement, spot: Spot & { z_m: number }): Change[] {
  const position = [spot.x_m, spot.y_m, spot.z_m].map(metres).join(", ");
  return [{ file: "design", path: ["placements", placement.name, "position"], text: `[${position}]` }];
}

export function speaker_aimed(placement: Placement, what: "turn" | "tilt", degrees: number): Change[] {
  return [{ file: "design", path: ["placements", placement.name, what], text: quantity_text(degrees, "deg", 1) }];
}

const ARROWS: Record<string, [number, number]> = {
  ArrowUp: [-1, 0],
  ArrowDown: [1, 0],
  ArrowLeft: [0, -1],
  ArrowRight: [0, 1],
};

/** How far a key moves something on the plan: one centimetre, ten with Shift; null for any other key. */
export function step_of(key: string, shift: boolean): Spot | null {
  const way = ARROWS[key];
  const far = CENTIMETRE * (shift ? 10 : 1);
  return way ? { x_m: way[0] * far, y_m: way[1] * far } : null;
}

/** How far a key turns a speaker, in degrees: [ and ] by one, with Shift ({ and }) by ten. */
export function turn_of(key: string): number | null {
  return ({ "[": -1, "]": 1, "{": -10, "}": 10 } as Record<string, number>)[key] ?? null;
}
