import { describe, expect, it } from "vitest";
import { frequency_share } from "../parts/scales";
import { beam_line, colour_of, down_share, moved, paint, spot_at } from "./levelmap";
import { viridis_channels, viridis_pixels } from "./viridis";

const colour = (index: number): string =>
  Array.from(viridis_channels().slice(3 * index, 3 * index + 3), (c) => c.toString(16).padStart(2, "0")).join("");

describe("viridis", () => {
  it("has the ends and entries of the table it was taken from", () => {
    // matplotlib 3, _cm_listed.py: entries 0, 17, 136, 255 as printed there, times 255.
    expect([0, 17, 136, 255].map(colour)).toEqual(["440154", "481a6c", "1f988b", "fde725"]);
  });

  it("stays within 7 of 255 of entries between its anchors", () => {
    // Entries of the whole table of matplotlib 3, in hexadecimal.
    const table = { 8: "470d60", 64: "3b528b", 94: "2d718e", 111: "26818e", 191: "5cc863", 247: "eae51a" };
    for (const [index, printed] of Object.entries(table)) {
      for (const at of [0, 2, 4]) {
        const ours = parseInt(colour(Number(index)).slice(at, at + 2), 16);
        expect(Math.abs(ours - parseInt(printed.slice(at, at + 2), 16))).toBeLessThanOrEqual(7);
      }
    }
  });

  it("grows lighter all the way", () => {
    const channels = viridis_channels();
    const light = (index: number): number =>
      0.2126 * channels[3 * index]! + 0.7152 * channels[3 * index + 1]! + 0.0722 * channels[3 * index + 2]!;
    for (let index = 8; index < 256; index += 8) expect(light(index)).toBeGreaterThan(light(index - 8));
  });

  it("lies in memory as red, green, blue, opaque", () => {
    expect(Array.from(new Uint8Array(viridis_pixels().buffer).slice(-4))).toEqual([0xfd, 0xe7, 0x25, 0xff]);
  });
});

describe("the map", () => {
  it("gives the ends of the scale the ends of the colours", () => {
    expect([-99, -24, -9, 6, 40].map(colour_of)).toEqual([0, 0, 128, 255, 255]);
    expect(colour_of(Number.NaN)).toBe(0);
  });

  it("puts 180 degrees on top, again at the bottom, and rises upward in between", () => {
    const levels = new Float32Array([-24, -24, -9, -9, 6, 6]); // three angles, two bands
    const pixels = new Uint32Array(8);
    paint(levels, 2, pixels);
    const bytes = viridis_pixels();
    const rows = [0, 1, 2, 3].map((row) => bytes.indexOf(pixels[2 * row]!));
    expect(rows).toEqual([255, 128, 0, 255]);
  });

  it("paints every level as colour_of has it, not a number and infinities too", () => {
    const levels = new Float32Array(600).map((_, index) => -30 + index * 0.07);
    levels.set([Number.NaN, Infinity, -Infinity]);
    const pixels = new Uint32Array(1200);
    paint(levels, 600, pixels);
    const bytes = viridis_pixels();
    levels.forEach((level, index) => expect(bytes.indexOf(pixels[index]!)).toBe(colour_of(level)));
  });

  it("lies on three decades and 365 degrees", () => {
    expect(frequency_share(200)).toBeCloseTo(1 / 3, 12);
    expect([frequency_share(20), frequency_share(20000)]).toEqual([0, 1]);
    expect(down_share(0)).toBe(0.5);
    expect(down_share(180)).toBeCloseTo(2.5 / 365, 12);
  });

  it("finds again what it drew: each band and angle", () => {
    for (let row = 0; row < 72; row++) {
      const deg = -175 + 5 * row;
      for (const band of [0, 7, 120, 239]) {
        expect(spot_at((band + 0.5) / 240, down_share(deg), 240, 72)).toEqual({ band, row });
      }
    }
    expect(spot_at(0.5, down_share(-180), 240, 72).row).toBe(71);
    expect(spot_at(-1, -1, 240, 72)).toEqual({ band: 0, row: 71 });
    expect(spot_at(2, 2, 240, 72)).toEqual({ band: 239, row: 71 });
  });

  it("stops at the ends of the bands and goes round the angles", () => {
    const size = { bands: 240, rows: 72 };
    expect(moved({ band: 239, row: 71 }, 10, 1, size)).toEqual({ band: 239, row: 0 });
    expect(moved({ band: 3, row: 0 }, -10, -1, size)).toEqual({ band: 0, row: 71 });
  });

  it("breaks the beam line where the level never falls", () => {
    const box = { left: 0, top: 0, width: 300, height: 365 };
    const hz = new Float32Array([20, 200, 2000, 20000]);
    const beam = new Float32Array([90, 60, 180, 30]);
    expect(beam_line(beam, hz, 1, box)).toEqual(["0.0,92.5 100.0,122.5"]); // one point alone is no line
    expect(beam_line(beam.slice(0, 2), hz, -1, box)).toEqual(["0.0,272.5 100.0,242.5"]);
    expect(beam_line(new Float32Array([Number.NaN, 180]), hz, 1, box)).toEqual([]);
  });
});
