import { describe, expect, it } from "vitest";
import { line_path } from "./chart_svg";

describe("the path of a line", () => {
  it("leaves a gap where there is no number", () => {
    const same = (value: number) => value;
    expect(line_path([1, 2, NaN, 4, 5], [10, 20, 30, 40, 50], same, same)).toBe("M10.0,1.0L20.0,2.0M40.0,4.0L50.0,5.0");
  });
});
