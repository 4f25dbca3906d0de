// Words of the Voice panel that the server writes plainly, set as people read them.
import { typeset } from "../parts/words";

/** Part names and sentences with the signs of their units, never parted from their numbers. */
export function set_units(words: string): string {
  return typeset(words)
    .replace(/(?<=\d) uF\b/g, "\u00a0µF")
    .replace(/(?<=\d) ohm\b/g, "\u00a0Ω")
    .replace(/(?<=\d) (mH|mm|V|W|K|Hz|kHz|dB)\b/g, "\u00a0$1");
}

/** A number as somebody typed it; null where the field is empty, undefined where it is no number in the range. */
export function typed(text: string, least: number, whole: boolean): number | null | undefined {
  const bare = text.trim().replace("\u2212", "-");
  if (bare === "") return null;
  const value = /^[+-]?(\d+\.?\d*|\.\d+)$/.test(bare) ? Number(bare) : NaN;
  if (!(value >= least && value <= 1e6) || (whole && !Number.isInteger(value))) return undefined;
  return value;
}

/** A share in per cent, as the command prints it. */
export const percent = (share: number): string => `${(100 * share).toFixed(1)}\u00a0%`;
