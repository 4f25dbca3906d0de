// Numbers as people read them (the same manners as the report), and as the files hold them.

export const MINUS = "\u2212";
const NO_BREAK_SPACE = "\u00a0";

/** A number with a true minus sign and no minus zero. */
export function number(value: number, digits = 0): string {
  const text = value.toFixed(digits);
  return (Number(text) === 0 ? text.replace("-", "") : text).replace("-", MINUS);
}

/** A number and its unit, never parted at a line end. */
export function quantity(value: number, unit: string, digits = 0): string {
  return `${number(value, digits)}${NO_BREAK_SPACE}${unit}`;
}

/** A frequency in two figures, as the findings write it. */
export function frequency(hz: number): string {
  const figures = Number(hz.toPrecision(2));
  return figures >= 1000 ? `${figures / 1000}${NO_BREAK_SPACE}kHz` : `${figures}${NO_BREAK_SPACE}Hz`;
}

/** A frequency in three figures, for read-outs. */
export function fine_frequency(hz: number): string {
  const figures = Number(hz.toPrecision(3));
  return figures >= 1000 ? `${(figures / 1000).toFixed(figures < 9995 ? 2 : 1)}${NO_BREAK_SPACE}kHz` : `${figures}${NO_BREAK_SPACE}Hz`;
}

/** A depth and its place: "−6 dB at 1.4 kHz". */
export function hole_words(hole: { db: number; hz: number } | null | undefined): string {
  return hole ? `${quantity(-Math.abs(hole.db), "dB")} at ${frequency(hole.hz)}` : "none";
}

/** True minus and times signs in words that were made for a terminal. */
export function typeset(words: string): string {
  return words.replace(/(?<![\w-])-(?=\d)/g, MINUS).replace(/(?<=\d) x (?=\d)/g, " \u00d7 ");
}

/** A quantity as it stands in a file: a plain minus, no needless zeros. */
export function quantity_text(value: number, unit: string, digits: number): string {
  const rounded = Number(value.toFixed(digits));
  return `${rounded === 0 ? 0 : rounded} ${unit}`;
}

/** Read what somebody typed into a number field; null unless it is one number, perhaps with the field's unit. */
export function typed_number(text: string, unit: string): number | null {
  const match = /^\s*([+\-\u2212]?(?:\d+\.?\d*|\.\d+))\s*(\S*)\s*$/.exec(text);
  if (!match || (match[2] !== "" && match[2] !== unit)) return null;
  return Number((match[1] ?? "").replace(MINUS, "-"));
}

/** How long something still takes. */
export function time_left(seconds: number | null): string {
  if (seconds === null || !Number.isFinite(seconds)) return "";
  if (seconds < 1) return "under 1 s left";
  return seconds < 90 ? `${Math.round(seconds)} s left` : `${Math.round(seconds / 60)} min left`;
}

/** Text as it may stand in markup. */
export function escaped(text: string): string {
  return text.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;").replace(/"/g, "&quot;");
}
