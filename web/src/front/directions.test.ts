import { describe, expect, it } from "vitest";
import { along_orbit, angle_words, reach, room_direction } from "./directions";

const radians = Math.PI / 180;

describe("directions", () => {
  it("are unit vectors that turn counter-clockwise seen from above and tilt up", () => {
    expect(room_direction("horizontal", 0, 0, 0)).toEqual([1, 0, 0]);
    const turned = room_direction("horizontal", 30, 15, 0);
    expect(turned[0]).toBeCloseTo(Math.cos(45 * radians), 12);
    expect(turned[1]).toBeCloseTo(Math.sin(45 * radians), 12);
    const tilted = room_direction("vertical", 30, 0, 15);
    expect(tilted[0]).toBeCloseTo(Math.cos(45 * radians), 12);
    expect(tilted[2]).toBeCloseTo(Math.sin(45 * radians), 12);
    expect(Math.hypot(...room_direction("vertical", 130, 72, -20))).toBeCloseTo(1, 12);
  });

  it("lie where they should along both orbits", () => {
    expect(along_orbit("horizontal", 34, 5)).toEqual({ along_deg: 34, off_deg: 5 });
    const straight = along_orbit("vertical", 0, 25);
    expect(straight.along_deg).toBeCloseTo(25, 12);
    expect(straight.off_deg).toBeCloseTo(0, 12);
    expect(along_orbit("vertical", 90, 0).off_deg).toBeCloseTo(90, 9);
    expect(Math.abs(along_orbit("vertical", 180, 10).along_deg)).toBeCloseTo(170, 9);
  });

  it("end at the walls", () => {
    expect(reach([1, 1], [1, 0], [4, 3])).toBe(3);
    expect(reach([1, 1], [-1, 0], [4, 3])).toBe(1);
    expect(reach([1, 1], [Math.SQRT1_2, Math.SQRT1_2], [4, 3])).toBeCloseTo(2 * Math.SQRT2, 12);
  });

  it("are told in words", () => {
    expect(angle_words("horizontal", 35)).toBe("35° right");
    expect(angle_words("vertical", -35)).toBe("35° down");
    expect(angle_words("vertical", 0.3)).toBe("on axis");
    expect(angle_words("horizontal", 180)).toBe("180°, behind");
  });
});
