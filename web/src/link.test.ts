import { describe, expect, it } from "vitest";
import { merged } from "./link";
import type { Change } from "./picture";

const change = (path: string, text: string, file: Change["file"] = "brief"): Change => ({ file, path: [path], text });

describe("changes that wait", () => {
  it("keep the newest text of each value, and every value", () => {
    const first = merged(new Map(), [change("a", "1"), change("b", "1")]);
    const then = merged(first, [change("a", "2"), change("a", "3", "design")]);
    expect([...then.values()]).toEqual([change("a", "2"), change("b", "1"), change("a", "3", "design")]);
    expect(first.size).toBe(2);
  });
});
