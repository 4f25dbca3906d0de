import { describe, expect, it } from "vitest";
import type { Placement, SeatRow } from "../picture";
import { seat_moved, snapped, speaker_aimed, speaker_moved, step_of, turn_of, turn_toward, turned } from "./moves";
import { plan_scale, to_px, to_room, worst_of_each, wrapped } from "./plan";

const ROOM = { length_m: 5.4, width_m: 4.2 };

describe("gestures on the plan", () => {
  it("snap to whole centimetres and stay in the room", () => {
    expect(snapped({ x_m: 2.3456, y_m: 3.551 }, ROOM)).toEqual({ x_m: 2.35, y_m: 3.55 });
    expect(snapped({ x_m: -1, y_m: 99 }, ROOM)).toEqual({ x_m: 0.01, y_m: 4.19 });
  });
  it("move one centimetre a key press, ten with Shift: up is toward the front wall", () => {
    expect(step_of("ArrowUp", false)).toEqual({ x_m: -0.01, y_m: -0 + 0 });
    expect(step_of("ArrowRight", true)?.y_m).toBeCloseTo(0.1, 12);
    expect(step_of("a", false)).toBeNull();
    expect(["[", "]", "{", "}", "x"].map(turn_of)).toEqual([-1, 1, -10, 10, null]);
  });
  it("turn toward a point: positive toward growing y", () => {
    expect(turn_toward({ x_m: 0, y_m: 2 }, { x_m: 2, y_m: 2 })).toBe(0);
    expect(turn_toward({ x_m: 0, y_m: 2 }, { x_m: 2, y_m: 4 })).toBe(45);
    expect(turn_toward({ x_m: 0, y_m: 2 }, { x_m: 0, y_m: 0 })).toBe(-90);
    expect([180.2, 190, -190, 359.9].map(turned)).toEqual([180, -170, 170, 0]);
  });
  it("are written as the files hold them", () => {
    const seat = { name: "armchair" } as SeatRow;
    const place = { name: "centre" } as Placement;
    expect(seat_moved(seat, { x_m: 2.3, y_m: 3.55 })).toEqual([
      { file: "brief", path: ["seats", "armchair", "position"], text: "[2.3 m, 3.55 m]" },
    ]);
    expect(speaker_moved(place, { x_m: 0.55, y_m: 2.1, z_m: 0.62 })[0]?.text).toBe("[0.55 m, 2.1 m, 0.62 m]");
    expect(speaker_aimed(place, "turn", -12.5)[0]).toEqual({ file: "design", path: ["placements", "centre", "turn"], text: "-12.5 deg" });
  });
});

describe("the plan", () => {
  it("is to scale, with x downward and y to the right, and turns pixels back into places", () => {
    const scale = plan_scale(ROOM);
    const [x0, y0] = to_px(scale, { x_m: 0, y_m: 0 });
    const [x1, y1] = to_px(scale, { x_m: ROOM.length_m, y_m: ROOM.width_m });
    expect((x1 - x0) / ROOM.width_m).toBeCloseTo((y1 - y0) / ROOM.length_m, 9);
    expect(x1).toBeLessThan(scale.width);
    expect(y1).toBeLessThan(scale.height);
    const back = to_room(scale, ...to_px(scale, { x_m: 1.23, y_m: 3.21 }));
    expect(back.x_m).toBeCloseTo(1.23, 9);
    expect(back.y_m).toBeCloseTo(3.21, 9);
  });
  it("fits wide rooms and halls too", () => {
    for (const room of [{ length_m: 3, width_m: 12 }, { length_m: 40, width_m: 4 }]) {
      const scale = plan_scale(room);
      expect(scale.width).toBeLessThanOrEqual(520);
      expect(scale.height).toBeLessThanOrEqual(392);
    }
  });
  it("gives each seat the number of the speaker that is heard least evenly", () => {
    const rows = [{ name: "a", spread_db: 2 }, { name: "b", spread_db: 1 }, { name: "a", spread_db: 3 }];
    expect(worst_of_each(rows)).toEqual([{ name: "a", spread_db: 3 }, { name: "b", spread_db: 1 }]);
  });
  it("breaks names into at most two short lines", () => {
    expect(wrapped("sofa middle")).toEqual(["sofa", "middle"]);
    expect(wrapped("reading place by the window")).toEqual(["reading", "place by th…"]);
  });
});
