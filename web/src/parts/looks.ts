// How lines look: named once, used on canvas, in SVG and in keys.
import { css } from "./copying";

export interface LineLook {
  colour: string; // name of a variable of the style sheet
  width: number;
  dash: number[];
}

export const LOOKS = {
  now: { colour: "--blue", width: 2, dash: [] },
  kept: { colour: "--rust", width: 2, dash: [7, 4] },
  other: { colour: "--night", width: 1.6, dash: [9, 3, 2, 3] },
  trend: { colour: "--ink2", width: 1, dash: [2, 3] },
  direct: { colour: "--blue", width: 1.2, dash: [] },
  way0: { colour: "--teal", width: 1.8, dash: [12, 4] },
  way1: { colour: "--plum", width: 1.8, dash: [9, 3, 2, 3, 2, 3] },
  way2: { colour: "--grey", width: 1.8, dash: [2, 3] },
  way3: { colour: "--rust", width: 1.8, dash: [4, 3] },
  sum: { colour: "--blue", width: 2.2, dash: [] },
} as const satisfies Record<string, LineLook>;

export type Look = keyof typeof LOOKS;

export function colour_of(look: Look): string {
  return css(LOOKS[look].colour);
}

/** Looks of the ways, from the lowest up. */
export function way_look(index: number): Look {
  return (["way0", "way1", "way2", "way3"] as const)[index % 4] ?? "way0";
}
