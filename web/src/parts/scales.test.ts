import { describe, expect, it } from "vitest";
import {
  degree_ticks, FREQUENCY_TICKS, frequency_at, frequency_share, level_range, nearest_band, spread_step, straight_ticks, tick_label,
} from "./scales";

describe("frequency axis", () => {
  it("labels its ten ticks as the trade writes them", () => {
    expect(FREQUENCY_TICKS.map(tick_label)).toEqual(["20", "50", "100", "200", "500", "1k", "2k", "5k", "10k", "20k"]);
  });
  it("is logarithmic: equal ratios take equal room, and shares turn back into frequencies", () => {
    expect(frequency_share(20)).toBe(0);
    expect(frequency_share(20000)).toBeCloseTo(1, 12);
    expect(frequency_share(200)).toBeCloseTo(1 / 3, 12);
    for (const hz of [31.5, 440, 12345]) expect(frequency_at(frequency_share(hz))).toBeCloseTo(hz, 8);
  });
  it("finds the band nearest in ratio, at the ends too", () => {
    const bands = Float32Array.from({ length: 240 }, (_, band) => 1000 * 10 ** ((3 * (band - 136)) / 240));
    expect(bands[nearest_band(bands, 1000)]).toBe(1000);
    expect(nearest_band(bands, 1)).toBe(0);
    expect(nearest_band(bands, 1e6)).toBe(239);
    const middle = Math.sqrt((bands[10] as number) * (bands[11] as number));
    expect(nearest_band(bands, middle * 1.001)).toBe(11);
    expect(nearest_band(bands, middle / 1.001)).toBe(10);
  });
});

describe("level axis", () => {
  it("ends on fives, shows curves whole from 40 Hz to 16 kHz, and is 25 dB high at least", () => {
    expect(level_range([[80, 84.2, 79]], [20, 1000, 15000])).toEqual([65, 90]);
    expect(level_range([[0, 88, 61]], [20, 1000, 10000])).toEqual([55, 90]);
  });
  it("is never taller than asked", () => {
    const [low, high] = level_range([[-200, 80]], [1000, 2000], 25, 40);
    expect(high - low).toBe(40);
  });
  it("survives curves of nothing", () => {
    expect(level_range([[NaN, NaN]], [100, 200])).toEqual([-25, 0]);
  });
  it("ticks in steps of 1, 2 or 5 times a power of ten", () => {
    expect(straight_ticks(65, 90, 5)).toEqual([65, 70, 75, 80, 85, 90]);
    expect(straight_ticks(0, 33, 4)).toEqual([0, 10, 20, 30]);
    expect(straight_ticks(0, 0.35, 4)).toEqual([0, 0.1, 0.2, 0.3]);
    expect(straight_ticks(5, 5, 4)).toEqual([5]);
  });
  it("ticks degrees in multiples of 15, 30, 45 or 90", () => {
    expect(degree_ticks(-90, 90, 4)).toEqual([-90, -45, 0, 45, 90]);
    expect(degree_ticks(-180, 180, 5)).toEqual([-180, -90, 0, 90, 180]);
  });
});

describe("colour of a seat", () => {
  it("goes by the number as printed, like the report", () => {
    expect(spread_step(1.94).label).toBe("under 2");
    expect(spread_step(1.96).label).toBe("2 to 2.5");
    expect(spread_step(2.449).label).toBe("2 to 2.5");
    expect(spread_step(2.5).label).toBe("2.5 to 3");
    expect(spread_step(12).label).toBe("3.5 or more");
  });
  it("prints on every step with at least 4.5 to 1 of contrast (WCAG 2.2, 1.4.3)", () => {
    const luminance = (colour: string) => {
      const [r, g, b] = [1, 3, 5].map((at) => {
        const share = parseInt(colour.slice(at, at + 2), 16) / 255;
        return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
      }) as [number, number, number];
      return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    for (const spread_db of [1, 2.2, 2.7, 3.2, 5]) {
      const step = spread_step(spread_db);
      const [light, dark] = [luminance(step.fill), luminance(step.ink)].sort((a, b) => b - a) as [number, number];
      expect((light + 0.05) / (dark + 0.05)).toBeGreaterThan(4.5);
    }
  });
});
