/**
 * Stepping a value written as text through the preferred numbers of IEC 60063.
 * The text keeps its unit and its way of writing: "9.1 uF" steps up to "10 uF", never to "1e1 uF".
 */

export type SeriesName = "E6" | "E12" | "E24";

const E24 = [10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91] as const;

/** IEC 60063: every second member of E24 is E12, every fourth E6. */
export function preferred_tenths(series: SeriesName): number[] {
  const every = { E6: 4, E12: 2, E24: 1 }[series];
  return E24.filter((_, place) => place % every === 0);
}

export interface Written {
  number: number;
  unit: string;
}

const QUANTITY = /^\s*(\d+(?:\.\d+)?(?:[eE][+-]?\d+)?)\s*([A-Za-z\u00b5\u03bc\u03a9\u2126]+)\s*$/;

/** Split "3.3 uF" into its number and unit; null when it does not read as that. */
export function read_written(text: string): Written | null {
  const match = QUANTITY.exec(text);
  if (!match) return null;
  const number = Number(match[1]);
  return Number.isFinite(number) && number > 0 ? { number, unit: match[2] ?? "" } : null;
}

/** Write tenths times a power of ten without ever forming a binary fraction. */
function write_tenths(tenths: number, exponent: number): string {
  const digits = String(tenths);
  const point = digits.length + exponent;
  let text: string;
  if (point <= 0) text = `0.${"0".repeat(-point)}${digits}`;
  else if (point >= digits.length) text = digits + "0".repeat(point - digits.length);
  else text = `${digits.slice(0, point)}.${digits.slice(point)}`;
  return text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
}

/**
 * One preferred value up (+1) or down (-1) from the value written; null where the text cannot be read.
 * A value that is no member goes to the next member in that direction.
 */
export function step_written(text: string, direction: 1 | -1, series: SeriesName): string | null {
  const written = read_written(text);
  if (!written) return null;
  const members = preferred_tenths(series);
  const slack = 1 + 1e-9 * direction; // so that a member is not its own neighbour
  const decade = Math.floor(Math.log10(written.number)) - 1;
  const candidates: { tenths: number; exponent: number; value: number }[] = [];
  for (let exponent = decade - 1; exponent <= decade + 1; exponent++) {
    for (const tenths of members) candidates.push({ tenths, exponent, value: Number(`${tenths}e${exponent}`) });
  }
  if (direction < 0) candidates.reverse();
  const next = candidates.find(({ value }) =>
    direction > 0 ? value > written.number * slack : value < written.number * slack,
  );
  return next ? `${write_tenths(next.tenths, next.exponent)} ${written.unit}` : null;
}

const KIND_UNIT = { coil: "mH", capacitor: "uF", resistor: "ohm" } as const;
export type PartKind = keyof typeof KIND_UNIT;

/** What is offered when a part is added: a value in the middle of what networks hold. */
export const FIRST_VALUE: Record<PartKind, string> = { coil: "0.47 mH", capacitor: "4.7 uF", resistor: "3.3 ohm" };

/** Tidy what was typed: a bare number gets the unit of its kind, "3.3uF" its space; all else goes to the server as typed. */
export function tidy_typed(text: string, kind: PartKind): string {
  const bare = text.trim();
  if (/^\d+(?:\.\d+)?$/.test(bare)) return `${bare} ${KIND_UNIT[kind]}`;
  const touching = /^(\d+(?:\.\d+)?)([a-zA-Z\u00b5\u03bc\u03a9\u2126]+)$/.exec(bare);
  return touching ? `${touching[1]} ${touching[2]}` : bare;
}

/** Show a value to people: "3.3 µF" and "6.2 Ω" for the file's "3.3 uF" and "6.2 ohm". */
export function shown(text: string): string {
  const written = read_written(text);
  if (!written) return text;
  const unit = written.unit.replace(/^u(?=[FH]$)/, "µ").replace(/ohm$/, "Ω");
  return `${text.trim().split(/\s+/)[0] ?? ""} ${unit}`;
}
