import { expect, test } from "vitest";
import { percent, set_units, typed } from "./words";

test("units get their signs and stay with their numbers", () => {
  expect(set_units("capacitor 6.8 uF in series, high")).toBe("capacitor 6.8\u00a0µF in series, high");
  expect(set_units("at least 3.7 ohm, at 230 Hz; angle up to -59 degrees")).toBe(
    "at least 3.7\u00a0Ω, at 230\u00a0Hz; angle up to \u221259 degrees",
  );
});

test("an empty field asks for nothing, nonsense is no number", () => {
  expect(typed("  ", 0, false)).toBe(null);
  expect(typed("3.2", 0, false)).toBe(3.2);
  expect(typed("\u22121", -1e6, false)).toBe(-1);
  expect(typed("-1", 0, false)).toBe(undefined);
  expect(typed("4.5", 1, true)).toBe(undefined);
  expect(typed("3,2", 0, false)).toBe(undefined);
  expect(typed("1e9", 0, false)).toBe(undefined);
});

test("shares are printed as the command prints them", () => {
  expect(percent(0.98765)).toBe("98.8\u00a0%");
});
