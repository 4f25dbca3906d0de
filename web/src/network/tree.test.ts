import { describe, expect, it } from "vitest";
import type { Element, Part, PathKey, Way } from "../picture";
import {
  add_beside,
  add_step,
  effects_of,
  item_of,
  move_part,
  parts_of,
  remove_part,
  set_polarity,
  signed,
  stands_in,
  yaml_of,
} from "./tree";

const part = (kind: Part["part"], value: string, path: PathKey[], extras = {}): Part => ({
  part: kind,
  label: "X1",
  value,
  value_path: [...path, kind],
  path,
  extras,
  bypassed: false,
  step_effect: null,
});

const at = (...keys: PathKey[]): PathKey[] => ["ways", "low", "network", ...keys];

function low(): Way {
  const chain: Element = {
    chain: [
      part("capacitor", "15 uF", at(1, "shunt", 0), { price: 4.1 }),
      { bank: [part("resistor", "1.0 ohm", at(1, "shunt", 1, "parallel", 0))], path: at(1, "shunt", 1, "parallel") },
    ],
    path: at(1, "shunt"),
  };
  return {
    name: "low",
    drivers: ["woofer"],
    wired: "parallel",
    polarity: "normal",
    enclosure: "closed",
    steps: [
      { kind: "series", path: at(0), element: part("coil", "1.0 mH", at(0, "series"), { wire: "1.0 mm", dcr: null }) },
      { kind: "shunt", path: at(1), element: chain },
    ],
  };
}

describe("places in the tree", () => {
  it("lists the parts from the amplifier to the driver with their lists", () => {
    const [coil, capacitor, resistor] = parts_of(low());
    expect([coil, capacitor, resistor].map((placed) => placed && stands_in(placed))).toEqual(["step", "chain", "bank"]);
    expect(coil?.item).toEqual(at(0));
    expect(capacitor?.item).toEqual(at(1, "shunt", 0));
    expect(resistor?.item).toEqual(at(1, "shunt", 1, "parallel", 0));
    expect([coil?.among, capacitor?.among, resistor?.among]).toEqual([2, 2, 1]);
  });
  it("an item is the last number and what stands before it", () => {
    expect(item_of(at(1, "shunt"))).toEqual(at(1));
    expect(item_of(at(1, "shunt", 1, "parallel"))).toEqual(at(1, "shunt", 1));
  });
});

describe("writing an element", () => {
  it("keeps what the part says of itself", () => {
    const [coil] = parts_of(low());
    expect(coil && yaml_of(coil.part)).toBe("{coil: 1.0 mH, wire: 1.0 mm}");
  });
  it("writes chains as lists and banks as parallel", () => {
    const chain = low().steps[1]?.element;
    expect(chain && yaml_of(chain)).toBe("[{capacitor: 15 uF, price: 4.1}, {parallel: [{resistor: 1.0 ohm}]}]");
  });
  it("names the file of a part that has one", () => {
    const filed = { ...part("coil", "1 mH", at(0, "series"), { part: "parts/coil.yaml" }), value_path: null };
    expect(yaml_of(filed)).toBe("{part: parts/coil.yaml}");
  });
  it("quotes what would end a value", () => {
    expect(yaml_of(part("coil", "1 mH", at(0, "series"), { name: "a, b" }))).toBe('{coil: 1 mH, name: "a, b"}');
  });
});

describe("messages", () => {
  it("adds a step in its place, and the list itself where there is none", () => {
    expect(add_step(low(), 1, "shunt", "coil", "0.33 mH")).toEqual({
      do: "insert",
      path: ["ways", "low", "network"],
      index: 1,
      text: "{shunt: {coil: 0.33 mH}}",
    });
    expect(add_step({ ...low(), steps: [] }, 0, "series", "resistor", "1 ohm")).toEqual({
      do: "change",
      changes: [{ file: "design", path: ["ways", "low", "network"], text: "[{series: {resistor: 1 ohm}}]" }],
    });
  });
  it("adds beside a part: into its list, or by making one", () => {
    const [coil, capacitor] = parts_of(low());
    expect(capacitor && add_beside(capacitor, "chain", "resistor", "2 ohm")).toEqual({
      message: { do: "insert", path: at(1, "shunt"), index: 1, text: "{resistor: 2 ohm}" },
      path: at(1, "shunt", 1),
    });
    const text = "{parallel: [{coil: 1.0 mH, wire: 1.0 mm}, {resistor: 10 ohm}]}";
    expect(coil && add_beside(coil, "bank", "resistor", "10 ohm")).toEqual({
      message: { do: "change", changes: [{ file: "design", path: at(0, "series"), text }] },
      path: at(0, "series", "parallel", 1),
    });
  });
  it("removes the list that would be left empty, and leaves a way its empty network", () => {
    const way = low();
    const [coil, capacitor, resistor] = parts_of(way);
    expect(coil && remove_part(coil, way)).toEqual({ do: "remove", path: at(0) });
    expect(capacitor && remove_part(capacitor, way)).toEqual({ do: "remove", path: at(1, "shunt", 0) });
    expect(resistor && remove_part(resistor, way)).toEqual({ do: "remove", path: at(1, "shunt", 1) });
    const alone = { ...way, steps: way.steps.slice(0, 1) };
    expect(coil && remove_part(coil, alone)).toEqual({
      do: "change",
      changes: [{ file: "design", path: ["ways", "low", "network"], text: "[]" }],
    });
  });
  it("moves a part in its list, or its whole step, and says where it stands then", () => {
    const way = low();
    const [coil, capacitor] = parts_of(way);
    expect(coil && move_part(coil, -1, false, way)).toBeNull();
    expect(coil && move_part(coil, 1, false, way)).toEqual({
      message: { do: "move", path: at(0), to: 1 },
      path: at(1, "series"),
    });
    expect(capacitor && move_part(capacitor, 1, false, way)?.path).toEqual(at(1, "shunt", 1));
    expect(capacitor && move_part(capacitor, -1, true, way)).toEqual({
      message: { do: "move", path: at(1), to: 0 },
      path: at(0, "shunt", 0),
    });
  });
  it("flips polarity", () => {
    const flipped = set_polarity({ ...low(), polarity: "reversed" });
    expect(flipped.do === "change" && flipped.changes[0]?.text).toBe("normal");
  });
});

describe("effects", () => {
  it("puts the largest first and signs it as printed", () => {
    const one = part("coil", "1 mH", at(0, "series"));
    one.step_effect = [
      { seat: "sofa", db: 0.1 },
      { seat: "armchair", db: -0.44 },
    ];
    expect(effects_of(one).map(({ seat }) => seat)).toEqual(["armchair", "sofa"]);
    expect([-0.44, 0.26, -0.04, 0.099, -0.004].map(signed)).toEqual(["−0.4", "+0.3", "−0.04", "+0.1", "0.0"]);
  });
});
