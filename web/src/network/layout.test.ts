import { describe, expect, it } from "vitest";
import type { Element, Part, PathKey, Way } from "../picture";
import { type DrawnWay, lay_out, neighbour, remark, START } from "./layout";

let count = 0;
function part(kind: Part["part"], value: string, effect = 0): Part {
  count += 1;
  const path: PathKey[] = ["ways", "w", "network", count, "series"];
  const step_effect = effect ? [{ seat: "armchair", db: effect }] : null;
  return {
    part: kind,
    label: `C${count}`,
    value,
    value_path: [...path, kind],
    path,
    extras: {},
    bypassed: false,
    step_effect,
  };
}

const chain = (...inside: Element[]): Element => ({ chain: inside, path: [] });
const bank = (...inside: Element[]): Element => ({ bank: inside, path: [] });
const series = (element: Element): Way["steps"][number] => ({ kind: "series", path: [], element });
const shunt = (element: Element): Way["steps"][number] => ({ kind: "shunt", path: [], element });
const way = (...steps: Way["steps"]): Way => ({
  name: "middle",
  drivers: ["midrange"],
  wired: "parallel",
  polarity: "normal",
  enclosure: "closed",
  steps,
});

const c = (effect = 0): Part => part("capacitor", "68 uF", effect);
const l = (): Part => part("coil", "0.33 mH");
const r = (): Part => part("resistor", "1.0 ohm");

/** Boxes of parts in one way that share area. */
function overlaps(drawn: DrawnWay): string[] {
  const found: string[] = [];
  drawn.parts.forEach((one, place) => {
    for (const other of drawn.parts.slice(place + 1)) {
      const wide =
        Math.min(one.box.x + one.box.width, other.box.x + other.box.width) - Math.max(one.box.x, other.box.x);
      const high =
        Math.min(one.box.y + one.box.height, other.box.y + other.box.height) - Math.max(one.box.y, other.box.y);
      if (wide > 0.2 && high > 0.2) found.push(`${one.part.label} and ${other.part.label}: ${wide} x ${high}`);
    }
  });
  return found;
}

/** Wire ends as a graph: is there a way along wires and through parts from the rail's start to the return? */
function ends(drawn: DrawnWay): Map<string, number> {
  const degree = new Map<string, number>();
  for (const [, x, y] of drawn.wire.matchAll(/[ML](-?[\d.]+) (-?[\d.]+)/g)) {
    degree.set(`${x},${y}`, (degree.get(`${x},${y}`) ?? 0) + 1);
  }
  return degree;
}

const nested = way(
  series(bank(c(), chain(l(), r()))),
  shunt(bank(chain(c(), r()), l())),
  shunt(chain(l(), bank(c(), r()), r())),
  series(chain(r(), bank(l(), c(), r()))),
  shunt(c(-0.4)),
);

describe("the schematic", () => {
  it("draws every part once, at its own place", () => {
    const drawing = lay_out([nested]);
    const parts = drawing.ways[0]?.parts ?? [];
    expect(parts).toHaveLength(15);
    expect(new Set(parts.map(({ x, y }) => `${x} ${y}`)).size).toBe(15);
  });

  it("never lets two parts or their words lie over each other", () => {
    const drawing = lay_out([nested, way(shunt(c(-0.4)), shunt(c(-0.4)), series(l()), series(c(-1.4)), shunt(l()))]);
    expect(drawing.ways.flatMap(overlaps)).toEqual([]);
  });

  it("keeps ways apart and everything inside the sheet", () => {
    const drawing = lay_out([nested, way(series(c())), way()]);
    let above = 0;
    for (const one of drawing.ways) {
      expect(one.top).toBeGreaterThanOrEqual(above);
      for (const { box } of one.parts) {
        expect(one.rail + box.y).toBeGreaterThanOrEqual(one.top - 0.1);
        expect(box.y + box.height).toBeLessThanOrEqual(one.floor);
        expect(box.x).toBeGreaterThanOrEqual(START);
        expect(box.x + box.width).toBeLessThanOrEqual(drawing.width);
      }
      above = one.rail + one.floor;
    }
    expect(above).toBeLessThanOrEqual(drawing.height);
  });

  it("has one place to add before, between and after the steps", () => {
    const [one, none] = lay_out([nested, way()]).ways;
    expect(one?.gaps.map(({ index }) => index)).toEqual([0, 1, 2, 3, 4, 5]);
    expect(none?.gaps).toHaveLength(1);
    const places = one?.gaps.map(({ x }) => x) ?? [];
    expect([...places].sort((first, second) => first - second)).toEqual(places);
  });

  it("meets the symbol of a part with a wire at both of its ends", () => {
    const [drawn] = lay_out([way(series(l()), shunt(r()))]).ways;
    const [coil, resistor] = drawn?.parts ?? [];
    const degree = drawn ? ends(drawn) : new Map<string, number>();
    expect(coil && degree.has(`${coil.x},0`) && degree.has(`${Math.round((coil.x + 34) * 10) / 10},0`)).toBe(true);
    expect(
      resistor && degree.has(`${resistor.x},${resistor.y}`) && degree.has(`${resistor.x},${resistor.y + 34}`),
    ).toBe(true);
  });

  it("stacks drivers in series and sets them side by side in parallel", () => {
    const two = { ...nested, drivers: ["woofer left", "woofer right"] };
    const [beside, over] = lay_out([two, { ...two, wired: "series" }]).ways;
    expect(beside?.drivers[0]?.y).toBe(beside?.drivers[1]?.y);
    expect(over?.drivers[0]?.x).toBe(over?.drivers[1]?.x);
    expect((over?.drivers[1]?.y ?? 0) - (over?.drivers[0]?.y ?? 0)).toBeGreaterThan(38);
  });

  it("draws a three-way of 14 parts that fits 740 by 500 at no less than 80 %", () => {
    const drawing = lay_out([
      way(series(l()), shunt(chain(c(-0.4), r())), shunt(chain(c(), l(), r()))),
      way(series(c(-0.4)), shunt(l()), series(l()), shunt(chain(c(), r()))),
      way(series(r()), series(c(-0.4)), shunt(l())),
    ]);
    expect(drawing.ways.flatMap(({ parts }) => parts)).toHaveLength(14);
    expect(Math.min(740 / drawing.width, 500 / drawing.height)).toBeGreaterThanOrEqual(0.8);
  });

  it("says the largest effect, or that the part is bypassed", () => {
    expect(remark(c(-0.44))).toBe("armchair −0.4 dB");
    expect(remark({ ...c(-0.44), bypassed: true })).toBe("bypassed");
    expect(remark(c())).toBe("");
  });

  it("does not move when the effects come", () => {
    const [before, after] = [0, -0.4].map((effect) =>
      lay_out([way(series(c(effect)), shunt(c(effect)))], ["armchair"]),
    );
    expect(before?.width).toBe(after?.width);
    expect(before?.ways[0]?.gaps).toEqual(after?.ways[0]?.gaps);
  });

  it("hands the focus to a neighbour", () => {
    const keys = [{ key: "a" }, { key: "b" }];
    expect([neighbour(keys, "b"), neighbour(keys, "a"), neighbour([{ key: "a" }], "a")]).toEqual(["a", "b", null]);
  });
});
