import { describe, expect, it } from "vitest";
import { preferred_tenths, read_written, shown, step_written, tidy_typed } from "./series";

describe("preferred numbers", () => {
  // IEC 60063:2015, tables 1 and 2, as printed.
  it("E24 is the printed list", () => {
    expect(
      preferred_tenths("E24")
        .map((tenths) => (tenths / 10).toFixed(1))
        .join(" "),
    ).toBe("1.0 1.1 1.2 1.3 1.5 1.6 1.8 2.0 2.2 2.4 2.7 3.0 3.3 3.6 3.9 4.3 4.7 5.1 5.6 6.2 6.8 7.5 8.2 9.1");
  });
  it("E12 and E6 are the printed lists", () => {
    expect(preferred_tenths("E12")).toEqual([10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82]);
    expect(preferred_tenths("E6")).toEqual([10, 15, 22, 33, 47, 68]);
  });
});

describe("stepping a written value", () => {
  it("goes to the neighbour and keeps the unit", () => {
    expect(step_written("3.3 uF", 1, "E24")).toBe("3.6 uF");
    expect(step_written("3.3 uF", -1, "E24")).toBe("3 uF");
    expect(step_written("3.3 uF", 1, "E12")).toBe("3.9 uF");
    expect(step_written("3.3 uF", 1, "E6")).toBe("4.7 uF");
  });
  it("crosses the decade both ways", () => {
    expect(step_written("9.1 uF", 1, "E24")).toBe("10 uF");
    expect(step_written("10 uF", -1, "E24")).toBe("9.1 uF");
    expect(step_written("1 mH", -1, "E12")).toBe("0.82 mH");
    expect(step_written("0.1 mH", -1, "E24")).toBe("0.091 mH");
    expect(step_written("0.091 mH", 1, "E24")).toBe("0.1 mH");
    expect(step_written("91 ohm", 1, "E24")).toBe("100 ohm");
  });
  it("a value between members goes to the next one in that direction", () => {
    expect(step_written("3.4 uF", 1, "E24")).toBe("3.6 uF");
    expect(step_written("3.4 uF", -1, "E24")).toBe("3.3 uF");
    expect(step_written("9.95 uF", 1, "E24")).toBe("10 uF");
  });
  it("walks up and down six decades without drifting", () => {
    let text = "0.01 mH";
    for (let step = 0; step < 24 * 6; step++) text = step_written(text, 1, "E24") ?? "";
    expect(text).toBe("10000 mH");
    for (let step = 0; step < 24 * 6; step++) text = step_written(text, -1, "E24") ?? "";
    expect(text).toBe("0.01 mH");
  });
  it("refuses what is no value", () => {
    for (const text of ["", "uF", "3,3 uF", "-2 uF", "0 uF", "parts/c.yaml"])
      expect(step_written(text, 1, "E24")).toBeNull();
  });
});

describe("what was typed", () => {
  it("reads number and unit", () => {
    expect(read_written("0.47 mH")).toEqual({ number: 0.47, unit: "mH" });
    expect(read_written("3.3")).toBeNull();
  });
  it("is tidied but never guessed", () => {
    expect(tidy_typed("3.3", "capacitor")).toBe("3.3 uF");
    expect(tidy_typed("3.3uF", "capacitor")).toBe("3.3 uF");
    expect(tidy_typed(" 0.47 mH ", "coil")).toBe("0.47 mH");
    expect(tidy_typed("3,3 uF", "capacitor")).toBe("3,3 uF");
  });
  it("is shown with the signs of the trade", () => {
    expect(shown("3.3 uF")).toBe("3.3 µF");
    expect(shown("1.0 ohm")).toBe("1.0 Ω");
    expect(shown("0.47 mH")).toBe("0.47 mH");
    expect(shown("1 kohm")).toBe("1 kΩ");
  });
});
