import { describe, expect, it } from "vitest";
import { layout, length_text, nudge, snapped, stepped, to_pixels } from "./geometry";

const room = { width: 600, height: 300, margin: 30, between: 20 };

describe("the front to scale", () => {
  it("fits wide and tall cabinets, front and side at one scale", () => {
    for (const size of [
      { width_mm: 480, height_mm: 200, depth_mm: 260 },
      { width_mm: 180, height_mm: 1200, depth_mm: 300 },
    ]) {
      const at = layout(size, room);
      expect(at.front.width / at.front.height).toBeCloseTo(size.width_mm / size.height_mm, 9);
      expect(at.side.width / at.side.height).toBeCloseTo(size.depth_mm / size.height_mm, 9);
      expect(at.front.x).toBeGreaterThanOrEqual(30 - 1e-9);
      expect(at.side.x + at.side.width).toBeLessThanOrEqual(570 + 1e-9);
      expect(at.front.y).toBeGreaterThanOrEqual(30 - 1e-9);
      expect(at.side.x - at.front.x - at.front.width).toBeCloseTo(20, 9);
    }
  });

  it("puts across to the right and up upward", () => {
    const at = layout({ width_mm: 400, height_mm: 200, depth_mm: 100 }, room);
    const { x, y } = to_pixels(at, 100, 50);
    expect(x).toBeCloseTo(at.front.x + (300 / 400) * at.front.width, 9);
    expect(y).toBeCloseTo(at.front.y + (50 / 200) * at.front.height, 9);
  });

  it("writes whole millimetres without a negative nought", () => {
    expect(Object.is(snapped(-0.4), 0)).toBe(true);
    expect(snapped(-1.5)).toBe(-1);
    expect([length_text(-132), length_text(-0.01), length_text(12.34)]).toEqual(["-132 mm", "0 mm", "12.3 mm"]);
  });

  it("steps to whole millimetres first", () => {
    expect([stepped(54.4, 1), stepped(54.4, -1), stepped(54, 1), stepped(-54.4, -10), stepped(7, 0)]).toEqual([
      55, 54, 55, -64, 7,
    ]);
  });

  it("moves by arrows only", () => {
    expect(nudge("ArrowUp", false)).toEqual([0, 1]);
    expect(nudge("ArrowLeft", true)).toEqual([-10, 0]);
    expect(nudge("Tab", false)).toBeNull();
  });
});
