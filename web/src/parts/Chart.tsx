// Curves over frequency, on uPlot: one frequency axis for all, hover and keyboard cursor, table, copies.
import { useComputed } from "@preact/signals";
import { useEffect, useMemo, useRef } from "preact/hooks";
import uPlot from "uplot";
import "uplot/dist/uPlot.min.css";
import { cursor_hz } from "../store";
import { chart_svg } from "./chart_svg";
import { css } from "./copying";
import { colour_of, LOOKS, type Look } from "./looks";
import { FREQUENCY_TICKS, JUDGED_HZ, degree_ticks, level_range, nearest_band, straight_ticks, tick_label } from "./scales";
import { Figure, type TableData } from "./Tools";
import { fine_frequency, number, quantity } from "./words";

export interface ChartLine {
  name: string;
  /** [frequency]; null where there is none now: the line and its key are left out. */
  values: ArrayLike<number> | null;
  look: Look;
  /** Drawn, but without a key and a read-out (a trend). */
  silent?: boolean;
  /** Drawn only where the seats are judged. */
  judged_only?: boolean;
}

export interface ChartMark {
  hz: number;
  value: number;
  words?: string;
  look: Look;
}

export interface ChartProps {
  title: string;
  note?: string;
  frequency_hz: ArrayLike<number>;
  /** The most important first: it is drawn last, over the others. */
  lines: ChartLine[];
  unit: string;
  digits?: number;
  range?: [number, number];
  height?: number;
  marks?: ChartMark[];
  rules?: { value: number; words: string }[];
  judged?: boolean;
  /** An axis in degrees: ticks at multiples of 15. */
  degrees?: boolean;
}

type ThereLine = ChartLine & { values: ArrayLike<number> };

interface Shown extends ChartProps {
  drawn: ThereLine[]; // the first line last, so that it lies on top
  named: ThereLine[]; // in the order given
  axis: [number, number];
}

const FONT = '12px "Atkinson Hyperlegible Next Variable", system-ui, sans-serif';
const STEP_OF_TABLE = 8; // bands of a third of an octave

export function Chart(props: ChartProps) {
  const shown = shown_of(props);
  const place = useRef<HTMLDivElement>(null);
  const plot = useRef<uPlot | null>(null);
  const latest = useRef(shown);
  latest.current = shown;
  const looks = shown.drawn.map((line) => line.look).join(" ");
  const height = props.height ?? 190;

  useEffect(() => {
    const target = place.current;
    if (!target) return;
    const made = new uPlot(options(latest, target.clientWidth, height), data_of(latest.current), target);
    plot.current = made;
    const undo = [follow_cursor(made), follow_size(made, target, height), follow_theme(made)];
    return () => {
      undo.forEach((stop) => stop());
      made.destroy();
      plot.current = null;
    };
  }, [looks, height]);

  useEffect(() => {
    plot.current?.setData(data_of(shown), true);
  });

  return (
    <Figure
      title={props.title}
      note={props.note ?? `in ${props.unit}`}
      svg={() => chart_svg(drawn_chart(shown, place.current?.clientWidth ?? 640, height + 60))}
      table={() => table_of(shown)}
    >
      <div class="chart">
        <Key shown={shown} />
        <Plot shown={shown} place={place} height={height} />
      </div>
    </Figure>
  );
}

/** The focusable plot: arrows move the frequency cursor of every chart. */
function Plot({ shown, place, height }: { shown: Shown; place: { current: HTMLDivElement | null }; height: number }) {
  const bands = shown.frequency_hz;
  const at = useComputed(() => cursor_hz.value ?? 1000);
  const key = (event: KeyboardEvent) => {
    const now = nearest_band(bands, cursor_hz.value ?? 1000);
    const far = event.shiftKey ? 10 : 1;
    const wanted: Record<string, number> = {
      ArrowLeft: now - far, ArrowDown: now - far, ArrowRight: now + far, ArrowUp: now + far, Home: 0, End: bands.length - 1,
    };
    if (event.key === "Escape") cursor_hz.value = null;
    const band = wanted[event.key];
    if (band === undefined) return;
    event.preventDefault();
    cursor_hz.value = bands[Math.min(bands.length - 1, Math.max(0, band))] ?? null;
  };
  return (
    <div
      class="plot"
      ref={place}
      style={{ height: `${height}px` }}
      tabIndex={0}
      role="slider"
      aria-label={`${shown.title}: frequency cursor`}
      aria-valuemin={20}
      aria-valuemax={20000}
      aria-valuenow={Math.round(at.value)}
      aria-valuetext={`${fine_frequency(at.value)}: ${readings(shown, at.value).join(", ")}`}
      onKeyDown={key}
    />
  );
}

function readings(shown: Shown, hz: number): string[] {
  const band = nearest_band(shown.frequency_hz, hz);
  return shown.named.map((line) => `${line.name} ${quantity(line.values[band] ?? NaN, shown.unit, shown.digits ?? 1)}`);
}

/** The lines' names with their dashes, and what they read under the cursor. */
function Key({ shown }: { shown: Shown }) {
  const hz = cursor_hz.value;
  const band = hz === null ? null : nearest_band(shown.frequency_hz, hz);
  return (
    <p class="key">
      {shown.named.map((line) => (
          <span key={line.name}>
            <Swatch look={line.look} /> {line.name}
            {band !== null && <b>{quantity(line.values[band] ?? NaN, shown.unit, shown.digits ?? 1)}</b>}
          </span>
        ))}
      {hz !== null && <span class="at">{fine_frequency(hz)}</span>}
    </p>
  );
}

export function Swatch({ look }: { look: Look }) {
  const { width, dash } = LOOKS[look];
  return (
    <svg class="swatch-line" width="30" height="10" aria-hidden="true">
      <line x1="1" x2="29" y1="5" y2="5" class={`l-${look}`} stroke-width={width} stroke-dasharray={dash.join(" ")} />
    </svg>
  );
}

function shown_of(props: ChartProps): Shown {
  const there = props.lines.flatMap((line) => (line.values ? [{ ...line, values: line.values }] : []));
  const drawn = there.slice().reverse();
  const named = there.filter((line) => !line.silent);
  const axis = useMemo(
    () => props.range ?? level_range(drawn.map((line) => line.values), props.frequency_hz),
    [props.lines, props.range, props.frequency_hz],
  );
  return { ...props, drawn, named, axis };
}

function data_of(shown: Shown): uPlot.AlignedData {
  const bands = Array.from(shown.frequency_hz);
  const lines = shown.drawn.map((line) => Array.from(line.values, (value, band) => seen(line, bands[band] ?? 0, value)));
  return [bands, ...lines];
}

/** A value where its line is drawn, null elsewhere. */
function seen(line: ChartLine, hz: number, value: number): number | null {
  const hidden = line.judged_only && (hz < JUDGED_HZ[0] || hz > JUDGED_HZ[1]);
  return hidden || !Number.isFinite(value) ? null : value;
}

function options(latest: { current: Shown }, width: number, height: number): uPlot.Options {
  const axis: uPlot.Axis = {
    stroke: () => css("--ink2"),
    font: FONT,
    grid: { stroke: () => css("--hair"), width: 1 },
    ticks: { show: false },
    gap: 4,
  };
  const ticks = (low: number, high: number) => ticks_of(latest.current, low, high, height);
  return {
    width,
    height,
    padding: [8, 10, 0, 0],
    legend: { show: false },
    cursor: {
      y: false,
      drag: { x: false, y: false },
      points: { size: 7, width: 0, fill: (self, index) => line_colour(latest.current, self, index) },
    },
    scales: {
      x: { time: false, distr: 3, log: 10, range: [20, 20000] },
      y: { range: () => latest.current.axis },
    },
    axes: [
      { ...axis, size: 26, gap: 6, splits: () => [...FREQUENCY_TICKS], filter: (_plot, splits) => splits, values: (plot, splits) => tick_words(splits, plot.width) },
      { ...axis, size: 40, splits: (_plot, _index, low, high) => ticks(low, high), values: (_plot, splits) => splits.map((value) => number(value, Number.isInteger(value) ? 0 : 1)) },
    ],
    series: [
      {},
      ...latest.current.drawn.map((line) => ({
        stroke: () => colour_of(line.look),
        width: LOOKS[line.look].width,
        dash: [...LOOKS[line.look].dash],
        points: { show: false },
        spanGaps: false,
        pxAlign: 0,
      })),
    ],
    hooks: {
      drawClear: [(plot) => shade_judged(plot, latest.current)],
      draw: [(plot) => draw_over(plot, latest.current)],
      setCursor: [(plot) => tell_cursor(plot, latest.current)],
    },
  };
}

function ticks_of(shown: Shown, low: number, high: number, height: number): number[] {
  const most = Math.max(3, Math.floor(height / 30));
  return shown.degrees ? degree_ticks(low, high, most) : straight_ticks(low, high, most);
}

/** Labels that fit: on a narrow plot every second one goes. */
function tick_words(splits: number[], width: number): string[] {
  const narrow = width < 330;
  return splits.map((hz) => (narrow && [50, 200, 500, 5000].includes(hz) ? "" : hz === 20 ? "20 Hz" : tick_label(hz)));
}

function line_colour(shown: Shown, plot: uPlot, index: number): string {
  const line = shown.drawn[index - 1];
  if (!line || line.silent) return "transparent";
  return plot.series[index]?.show === false ? "transparent" : colour_of(line.look);
}

function shade_judged(plot: uPlot, shown: Shown): void {
  if (!shown.judged) return;
  const [low, high] = JUDGED_HZ.map((hz) => plot.valToPos(hz, "x", true)) as [number, number];
  plot.ctx.fillStyle = css("--judged");
  plot.ctx.fillRect(low, plot.bbox.top, high - low, plot.bbox.height);
}

function draw_over(plot: uPlot, shown: Shown): void {
  const { ctx, bbox } = plot;
  const dots = devicePixelRatio;
  ctx.save();
  ctx.font = FONT.replace("12px", `${12 * dots}px`);
  ctx.lineWidth = dots;
  ctx.setLineDash([]); // the last line drawn may have been dashed
  ctx.strokeStyle = css("--edge");
  ctx.strokeRect(bbox.left, bbox.top, bbox.width, bbox.height);
  for (const rule of shown.rules ?? []) {
    const y = plot.valToPos(rule.value, "y", true);
    if (y < bbox.top || y > bbox.top + bbox.height) continue;
    ctx.setLineDash([5 * dots, 4 * dots]);
    ctx.strokeStyle = css("--ink2");
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
    words(plot, rule.words, bbox.left + bbox.width - 6 * dots, y - 6 * dots, "right", css("--ink2"));
  }
  for (const mark of shown.marks ?? []) draw_mark(plot, mark, dots);
  ctx.restore();
}

function draw_mark(plot: uPlot, mark: ChartMark, dots: number): void {
  const { ctx, bbox } = plot;
  const x = plot.valToPos(mark.hz, "x", true);
  const y = Math.min(Math.max(plot.valToPos(mark.value, "y", true), bbox.top), bbox.top + bbox.height);
  ctx.setLineDash([]);
  ctx.beginPath();
  ctx.arc(x, y, 4.5 * dots, 0, 2 * Math.PI);
  ctx.fillStyle = colour_of(mark.look);
  ctx.fill();
  ctx.strokeStyle = css("--card");
  ctx.lineWidth = 1.5 * dots;
  ctx.stroke();
  if (!mark.words) return;
  const share = (x - bbox.left) / bbox.width;
  const align = share < 0.2 ? "left" : share > 0.8 ? "right" : "center";
  const below = y + 18 * dots < bbox.top + bbox.height;
  words(plot, mark.words, x, below ? y + 18 * dots : y - 10 * dots, align, colour_of(mark.look));
}

function words(plot: uPlot, text: string, x: number, y: number, align: CanvasTextAlign, colour: string): void {
  const { ctx } = plot;
  ctx.textAlign = align;
  ctx.textBaseline = "alphabetic";
  ctx.setLineDash([]);
  ctx.lineJoin = "round";
  ctx.lineWidth = 4 * devicePixelRatio;
  ctx.strokeStyle = css("--card");
  ctx.strokeText(text, x, y);
  ctx.fillStyle = colour;
  ctx.fillText(text, x, y);
}

// --- cursor, size, theme --------------------------------------------------------------------------------------------

let moving: uPlot | null = null; // the plot whose own cursor speaks, so that following it tells nobody again

function tell_cursor(plot: uPlot, shown: Shown): void {
  if (moving) return;
  const left = plot.cursor.left ?? -1;
  const band = left >= 0 ? plot.cursor.idx : null;
  moving = plot;
  cursor_hz.value = band === null || band === undefined ? null : (shown.frequency_hz[band] ?? null);
  moving = null;
}

function follow_cursor(plot: uPlot): () => void {
  return cursor_hz.subscribe((hz) => {
    if (moving === plot) return;
    const before = moving;
    moving = plot;
    plot.setCursor(hz === null ? { left: -10, top: -10 } : { left: plot.valToPos(hz, "x"), top: 1 }, true);
    moving = before;
  });
}

function follow_size(plot: uPlot, target: HTMLElement, height: number): () => void {
  const observer = new ResizeObserver(() => {
    if (target.clientWidth > 0 && target.clientWidth !== plot.width) plot.setSize({ width: target.clientWidth, height });
  });
  observer.observe(target);
  return () => observer.disconnect();
}

function follow_theme(plot: uPlot): () => void {
  const dark = matchMedia("(prefers-color-scheme: dark)");
  const redraw = () => plot.redraw(false, true);
  dark.addEventListener("change", redraw);
  void document.fonts.ready.then(redraw);
  return () => dark.removeEventListener("change", redraw);
}

// --- table and file -------------------------------------------------------------------------------------------------

function table_of(shown: Shown): TableData {
  const bands = Array.from(shown.frequency_hz);
  const lines = shown.named;
  const rows = bands.flatMap((hz, band) =>
    band % STEP_OF_TABLE === 0
      ? [[fine_frequency(hz), ...lines.map((line) => number(line.values[band] ?? NaN, shown.digits ?? 1))]]
      : [],
  );
  return { heads: ["frequency", ...lines.map((line) => `${line.name}, ${shown.unit}`)], rows };
}

function drawn_chart(shown: Shown, width: number, height: number) {
  const values_of = (line: ThereLine) => Array.from(line.values, (value, band) => seen(line, shown.frequency_hz[band] ?? 0, value) ?? NaN);
  return {
    title: shown.title,
    frequency_hz: shown.frequency_hz,
    lines: shown.drawn.map((line) => ({ name: line.name, values: values_of(line), colour: colour_of(line.look), ...pick(line.look) })),
    marks: (shown.marks ?? []).map((mark) => ({ hz: mark.hz, value: mark.value, words: mark.words ?? "", colour: colour_of(mark.look) })),
    rules: shown.rules ?? [],
    range: shown.axis,
    ticks: ticks_of(shown, shown.axis[0], shown.axis[1], height - 60),
    unit: shown.unit,
    judged: shown.judged ?? false,
    width: Math.max(420, width),
    height,
    colours: {
      card: css("--card"), ink: css("--ink"), ink2: css("--ink2"), hair: css("--hair"), edge: css("--edge"), judged: css("--judged"),
    },
  };
}

function pick(look: Look): { width: number; dash: readonly number[] } {
  return { width: LOOKS[look].width, dash: LOOKS[look].dash };
}
