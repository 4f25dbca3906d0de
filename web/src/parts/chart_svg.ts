// A chart as an SVG file: the same lines, ticks and words as on the page, colours written in.
import { FREQUENCY_TICKS, JUDGED_HZ, frequency_share, tick_label } from "./scales";
import { escaped, number } from "./words";

export interface DrawnLine {
  name: string;
  values: ArrayLike<number>;
  colour: string;
  width: number;
  dash: readonly number[];
}

export interface DrawnChart {
  title: string;
  frequency_hz: ArrayLike<number>;
  lines: DrawnLine[];
  marks: { hz: number; value: number; words: string; colour: string }[];
  rules: { value: number; words: string }[];
  range: [number, number];
  ticks: number[];
  unit: string;
  judged: boolean;
  width: number;
  height: number;
  colours: { card: string; ink: string; ink2: string; hair: string; edge: string; judged: string };
}

const LEFT = 52;
const RIGHT = 14;
const TOP = 34;
const BOTTOM = 44;

/** Path of a line; what is not a number leaves a gap. */
export function line_path(
  values: ArrayLike<number>,
  frequency_hz: ArrayLike<number>,
  x: (hz: number) => number,
  y: (value: number) => number,
): string {
  let path = "";
  let pen = false;
  for (let band = 0; band < values.length; band++) {
    const value = values[band] ?? NaN;
    if (Number.isFinite(value)) path += `${pen ? "L" : "M"}${x(frequency_hz[band] ?? NaN).toFixed(1)},${y(value).toFixed(1)}`;
    pen = Number.isFinite(value);
  }
  return path;
}

export function chart_svg(chart: DrawnChart): string {
  const { width, height, colours, range } = chart;
  const right = width - RIGHT;
  const bottom = height - BOTTOM;
  const x = (hz: number) => LEFT + frequency_share(hz) * (right - LEFT);
  const y = (value: number) => bottom - ((value - range[0]) / (range[1] - range[0])) * (bottom - TOP);
  const text = (at_x: number, at_y: number, words: string, anchor: string, colour = colours.ink2) =>
    `<text x="${at_x.toFixed(1)}" y="${at_y.toFixed(1)}" text-anchor="${anchor}" fill="${colour}">${escaped(words)}</text>`;
  const pieces = [`<rect width="${width}" height="${height}" fill="${colours.card}"/>`];
  if (chart.judged) {
    const [low, high] = JUDGED_HZ.map(x) as [number, number];
    pieces.push(`<rect x="${low.toFixed(1)}" y="${TOP}" width="${(high - low).toFixed(1)}" height="${bottom - TOP}" fill="${colours.judged}"/>`);
  }
  for (const hz of FREQUENCY_TICKS) {
    pieces.push(`<path d="M${x(hz).toFixed(1)},${TOP}V${bottom}" stroke="${colours.hair}"/>`);
    pieces.push(text(x(hz), bottom + 16, hz === 20 ? "20 Hz" : tick_label(hz), "middle"));
  }
  for (const value of chart.ticks) {
    pieces.push(`<path d="M${LEFT},${y(value).toFixed(1)}H${right}" stroke="${colours.hair}"/>`);
    pieces.push(text(LEFT - 6, y(value) + 4, number(value, Number.isInteger(value) ? 0 : 1), "end"));
  }
  for (const rule of chart.rules) {
    pieces.push(`<path d="M${LEFT},${y(rule.value).toFixed(1)}H${right}" stroke="${colours.ink2}" stroke-dasharray="5 4"/>`);
    pieces.push(text(right - 6, y(rule.value) - 5, rule.words, "end"));
  }
  pieces.push(`<clipPath id="inside"><rect x="${LEFT}" y="${TOP}" width="${right - LEFT}" height="${bottom - TOP}"/></clipPath>`);
  for (const line of chart.lines) {
    const path = line_path(line.values, chart.frequency_hz, x, y);
    const dash = line.dash.length ? ` stroke-dasharray="${line.dash.join(" ")}"` : "";
    pieces.push(`<path d="${path}" clip-path="url(#inside)" fill="none" stroke="${line.colour}" stroke-width="${line.width}" stroke-linejoin="round"${dash}/>`);
  }
  for (const mark of chart.marks) {
    pieces.push(`<circle cx="${x(mark.hz).toFixed(1)}" cy="${y(mark.value).toFixed(1)}" r="4" fill="${mark.colour}"/>`);
    if (mark.words) pieces.push(text(x(mark.hz), y(mark.value) + 17, mark.words, "middle", mark.colour));
  }
  pieces.push(`<rect x="${LEFT}" y="${TOP}" width="${right - LEFT}" height="${bottom - TOP}" fill="none" stroke="${colours.edge}"/>`);
  pieces.push(`<text x="${LEFT}" y="20" font-size="15" font-weight="600" fill="${colours.ink}">${escaped(chart.title)}, ${escaped(chart.unit)}</text>`);
  let key_x = LEFT;
  for (const line of chart.lines) {
    const dash = line.dash.length ? ` stroke-dasharray="${line.dash.join(" ")}"` : "";
    pieces.push(`<path d="M${key_x},${height - 12}h26" stroke="${line.colour}" stroke-width="${line.width}"${dash}/>`);
    pieces.push(text(key_x + 32, height - 8, line.name, "start", colours.ink));
    key_x += 48 + 6.6 * line.name.length;
  }
  return (
    `<svg xmlns="http://www.w3.org/2000/svg" width="${width}" height="${height}" viewBox="0 0 ${width} ${height}" ` +
    `font-family="Atkinson Hyperlegible Next, Atkinson Hyperlegible, system-ui, sans-serif" font-size="12">${pieces.join("")}</svg>`
  );
}
