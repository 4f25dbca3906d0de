import { describe, expect, it } from "vitest";
import type { Placement, SeatRow, Story } from "../picture";
import { coverage_words } from "./coverage";
import { hole_marks, nearest_story } from "./holes";

const story = (hz: number): Story => ({ db: -12, hz, shares: [], rest_db: 0, in_room_db: 3, fills: [] });
const seat = (name: string, more: Partial<SeatRow> = {}): SeatRow => ({
  placement: "centre", name, x_m: 3, y_m: 2, ear_m: 1, azimuth_deg: 34, elevation_deg: 4, distance_m: 2.5, spread_db: 2,
  direct_spread_db: 5, hole: null, direct_hole: { db: -17, hz: 1400 }, kept: null, other: null, stories: [], cure: null, heard: null, ...more,
});
const place = (name: string, own = true): Placement => ({ name, x_m: 0.5, y_m: 2, z_m: 0.6, turn_deg: 0, tilt_deg: 0, own });

describe("holes on the map", () => {
  it("are numbered in the order of the seats, those without a hole left out", () => {
    const seats = [seat("sofa", { direct_hole: null }), seat("armchair"), seat("stool")];
    const marks = hole_marks(seats, [place("centre")], "horizontal");
    expect(marks.map((mark) => [mark.number, mark.seat, mark.db])).toEqual([[1, "armchair", 17], [2, "stool", 17]]);
  });

  it("belong to this design only; several placements are named", () => {
    const seats = [seat("sofa"), seat("sofa", { placement: "left" }), seat("sofa", { placement: "other" })];
    const marks = hole_marks(seats, [place("centre"), place("left"), place("other", false)], "horizontal");
    expect(marks.map((mark) => mark.seat)).toEqual(["sofa, from centre", "sofa, from left"]);
  });

  it("are told apart by whether the seat lies near the orbit's plane", () => {
    const across = hole_marks([seat("sofa")], [place("centre")], "horizontal")[0];
    const upright = hole_marks([seat("sofa")], [place("centre")], "vertical")[0];
    expect([across?.near, across?.along_deg, across?.off_deg]).toEqual([true, 34, 4]);
    expect(upright?.near).toBe(false);
  });

  it("open the story of their own frequency only", () => {
    const stories = [story(700), story(1500), story(1380)];
    expect(nearest_story(stories, 1400)?.hz).toBe(1380);
    expect(nearest_story(stories, 3000)).toBeNull();
    expect(nearest_story([], 1400)).toBeNull();
  });
});

describe("coverage", () => {
  it("names both sides and what ends them", () => {
    const sent = { horizontal: { positive_deg: 14.2, negative_deg: 180, positive_limit_hz: 1970.1, negative_limit_hz: null } };
    const words = coverage_words(sent, "horizontal").replace(/\u00a0/g, " ");
    expect(words).toBe("Coverage, 200 Hz to 5 kHz within 6 dB: all the way left, 14° right (ends at 1.97 kHz).");
    expect(coverage_words(sent, "vertical")).toBe("");
    expect(coverage_words(null, "vertical")).toBe("");
  });
});
