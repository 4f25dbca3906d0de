import { describe, expect, it } from "vitest";
import { fine_frequency, frequency, hole_words, number, quantity_text, time_left, typed_number, typeset } from "./words";

describe("numbers for people", () => {
  it("have a true minus sign and no minus zero", () => {
    expect(number(-3.14, 1)).toBe("−3.1");
    expect(number(-0.04, 1)).toBe("0.0");
    expect(number(-0.2)).toBe("0");
  });
  it("write frequencies in two figures in words, three in read-outs", () => {
    expect([1433, 84.2, 12400, 990].map(frequency)).toEqual(["1.4 kHz", "84 Hz", "12 kHz", "990 Hz"].map(unparted));
    expect([1433, 84.2, 12432].map(fine_frequency)).toEqual(["1.43 kHz", "84.2 Hz", "12.4 kHz"].map(unparted));
  });
  it("write holes as a depth below, whichever sign they come with", () => {
    expect(hole_words({ db: -6.2, hz: 1400 })).toBe("−6 dB at 1.4 kHz".replace(" dB", "\u00a0dB").replace(" kHz", "\u00a0kHz"));
    expect(hole_words({ db: 6.2, hz: 1400 })).toBe(hole_words({ db: -6.2, hz: 1400 }));
    expect(hole_words(null)).toBe("none");
  });
  it("set signs in the server's sentences, and leave hyphens alone", () => {
    expect(typeset("-9 dB at 1.4 kHz; 210 x 340 mm; two-way, twin-2")).toBe("−9 dB at 1.4 kHz; 210 × 340 mm; two-way, twin-2");
  });
  it("tell the time left", () => {
    expect([0.4, 42.3, 200, null].map(time_left)).toEqual(["under 1 s left", "42 s left", "3 min left", ""]);
  });
});

const unparted = (words: string) => words.replace(" ", "\u00a0");

describe("numbers for files", () => {
  it("are plain: no needless zeros, no true minus, no minus zero", () => {
    expect(quantity_text(3.5, "m", 3)).toBe("3.5 m");
    expect(quantity_text(-0.0004, "m", 3)).toBe("0 m");
    expect(quantity_text(-12, "deg", 1)).toBe("-12 deg");
    expect(quantity_text(1.005, "m", 2)).toBe("1 m");
  });
  it("read what somebody types, the unit allowed but no other", () => {
    expect(typed_number(" 1.25 ", "m")).toBe(1.25);
    expect(typed_number("−3 mm", "mm")).toBe(-3);
    expect(typed_number(".5", "m")).toBe(0.5);
    expect(typed_number("3 cm", "m")).toBeNull();
    expect(typed_number("1,5", "m")).toBeNull();
    expect(typed_number("", "m")).toBeNull();
    expect(typed_number("two", "m")).toBeNull();
  });
});
