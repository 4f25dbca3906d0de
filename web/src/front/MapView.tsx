// The level map of one orbit: canvas for the levels, SVG over it for everything that is drawn with lines.
import { computed, useSignalEffect } from "@preact/signals";
import { useRef } from "preact/hooks";
import { standing_alone } from "../parts/copying";
import { FREQUENCY_TICKS, frequency_at, frequency_share, nearest_band, tick_label } from "../parts/scales";
import { fine_frequency, number, quantity } from "../parts/words";
import { cursor_hz, head, picture } from "../store";
import { angle_words } from "./directions";
import { hole_marks, type HoleMark } from "./holes";
import { ANGLE_TICKS_DEG, beam_line, down_share, HIGHEST_DB, LOWEST_DB, moved, paint, spot_at, STEP_DEG } from "./levelmap";
import { angle_deg, open_hole, opened, orbit, whose } from "./look";
import { ANCHOR_CODES } from "./viridis";

const WIDTH = 500;
const HEIGHT = 268;
const BOX = { left: 44, top: 7, width: 388, height: 236 };
const RIGHT = BOX.left + BOX.width;
const BOTTOM = BOX.top + BOX.height;
const BAR = { left: RIGHT + 14, width: 12 };
const FIRST_DEG = -175;

const x_of = (hz: number): number => BOX.left + frequency_share(hz) * BOX.width;
const y_of = (deg: number): number => BOX.top + down_share(deg) * BOX.height;

/** What the map shows; A and the compared candidate only while they are there. */
export const shown_whose = computed(() => (picture.value?.has(`${whose.value}orbit.${orbit.value}_db`) ? whose.value : ""));
const name = computed(() => `${shown_whose.value}orbit.${orbit.value}_db`);
export const marks = computed<HoleMark[]>(() => {
  const now = head.value;
  return now && !shown_whose.value ? hole_marks(now.seats, now.placements, orbit.value) : []; // they belong to now
});

interface Pointed {
  band: number;
  row: number;
  hz: number;
  deg: number;
  db: number;
}

/** What lies under the cross. */
export const pointed = computed<Pointed | null>(() => {
  const now = picture.value;
  const hz = cursor_hz.value;
  const deg = angle_deg.value;
  const levels = now?.array(name.value);
  if (!now || !levels || hz === null || deg === null) return null;
  const bands = now.frequency_hz.length;
  const band = nearest_band(now.frequency_hz, hz);
  const row = Math.round((deg - FIRST_DEG) / STEP_DEG);
  return { band, row, hz: now.frequency_hz[band] ?? hz, deg, db: levels[row * bands + band] ?? NaN };
});

export function pointed_words(): string {
  const at = pointed.value;
  if (!at) return "";
  return `${angle_words(orbit.value, at.deg)}, ${fine_frequency(at.hz)}: ${quantity(at.db, "dB", 1)}`;
}

export function MapView({ picture_id }: { picture_id: string }) {
  return (
    <div class="map" id={picture_id}>
      <Levels />
      <svg viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="group" aria-label={`Level map of the ${orbit.value} orbit`}>
        <Grid />
        <Beams />
        <Cross />
        <Surface />
        <Holes />
      </svg>
    </div>
  );
}

/** The map as a file of its own: lines as they are drawn, the levels as a picture under them. */
export function map_svg(picture_id: string): string | null {
  const place = document.getElementById(picture_id);
  const svg = place?.querySelector("svg");
  const canvas = place?.querySelector("canvas");
  if (!svg || !canvas) return null;
  const box = Object.entries({ x: BOX.left, y: BOX.top, width: BOX.width, height: BOX.height });
  const size = box.map(([key, value]) => `${key}="${value}"`).join(" ");
  const image = `<image href="${canvas.toDataURL("image/png")}" ${size} preserveAspectRatio="none"/>`;
  const ground_end = "/>"; // the first thing drawn is the ground; the levels lie on it, under all lines
  return standing_alone(svg).replace(ground_end, ground_end + image);
}

/** The canvas has one pixel for each level; the browser stretches it, and smooths between them. */
function Levels() {
  const canvas = useRef<HTMLCanvasElement>(null);
  const kept = useRef<{ context: CanvasRenderingContext2D; image: ImageData; pixels: Uint32Array } | null>(null);
  useSignalEffect(() => {
    const now = picture.value;
    const levels = now?.array(name.value);
    const place = canvas.current;
    if (!now || !levels || !place) return;
    const bands = now.frequency_hz.length;
    const rows = levels.length / bands + 1;
    if (!kept.current || kept.current.image.width !== bands || kept.current.image.height !== rows) {
      const context = place.getContext("2d", { alpha: false });
      if (!context) return;
      place.width = bands;
      place.height = rows;
      const image = context.createImageData(bands, rows);
      kept.current = { context, image, pixels: new Uint32Array(image.data.buffer) };
    }
    paint(levels, bands, kept.current.pixels);
    kept.current.context.putImageData(kept.current.image, 0, 0);
  });
  const part = (px: number, of: number): string => `${(100 * px) / of}%`;
  return (
    <canvas
      ref={canvas}
      aria-hidden="true"
      style={{
        left: part(BOX.left, WIDTH),
        top: part(BOX.top, HEIGHT),
        width: part(BOX.width, WIDTH),
        height: part(BOX.height, HEIGHT),
      }}
    />
  );
}

function Grid() {
  const [plus, minus] = orbit.value === "horizontal" ? ["to the right", "to the left"] : ["up", "down"];
  const levels: number[] = [];
  for (let db = LOWEST_DB; db <= HIGHEST_DB; db += 6) levels.push(db);
  const bar_y = (db: number): number => BOTTOM - ((db - LOWEST_DB) / (HIGHEST_DB - LOWEST_DB)) * BOX.height;
  return (
    <g class="map-grid">
      {FREQUENCY_TICKS.map((hz) => (
        <g key={hz}>
          <line class="over" x1={x_of(hz)} x2={x_of(hz)} y1={BOX.top} y2={BOTTOM} />
          <text class="tick" x={x_of(hz)} y={BOTTOM + 16} text-anchor="middle">
            {hz === 20 ? "20 Hz" : tick_label(hz)}
          </text>
        </g>
      ))}
      {ANGLE_TICKS_DEG.map((deg) => (
        <g key={deg}>
          <line class="over" x1={BOX.left} x2={RIGHT} y1={y_of(deg)} y2={y_of(deg)} />
          <text class="tick" x={BOX.left - 6} y={y_of(deg) + 4} text-anchor="end">
            {number(deg)}°
          </text>
        </g>
      ))}
      <text class="on-map" x={BOX.left + 8} y={y_of(90) - 4}>
        {plus}
      </text>
      <text class="on-map" x={BOX.left + 8} y={y_of(-90) + 12}>
        {minus}
      </text>
      <rect class="frame" x={BOX.left} y={BOX.top} width={BOX.width} height={BOX.height} />
      <defs>
        <linearGradient id="level-colours" x1="0" y1="1" x2="0" y2="0">
          {ANCHOR_CODES.map((code, index) => (
            <stop key={code} offset={index / (ANCHOR_CODES.length - 1)} stop-color={`#${code}`} />
          ))}
        </linearGradient>
      </defs>
      <rect class="frame bar" x={BAR.left} y={BOX.top} width={BAR.width} height={BOX.height} fill="url(#level-colours)" />
      {levels.map((db) => (
        <g key={db}>
          <line class="frame" x1={BAR.left + BAR.width} x2={BAR.left + BAR.width + 4} y1={bar_y(db)} y2={bar_y(db)} />
          <text class="tick" x={BAR.left + BAR.width + 7} y={Math.max(BOX.top + 9, bar_y(db) + 4)}>
            {db === 0 ? "0 dB" : number(db)}
          </text>
        </g>
      ))}
    </g>
  );
}

const beams = computed<string[]>(() => {
  const now = picture.value;
  const key = `${shown_whose.value}orbit.${orbit.value}_beam_deg`;
  return ([1, -1] as const).flatMap((sign, row) => {
    const beam = now?.row(key, row);
    return now && beam ? beam_line(beam, now.frequency_hz, sign, BOX) : [];
  });
});

/** White over a dark casing, to be seen on every colour. */
function Beams() {
  return (
    <g class="beams" aria-hidden="true">
      {beams.value.map((points, index) => (
        <g key={index}>
          <polyline class="casing" points={points} />
          <polyline class="white" points={points} />
        </g>
      ))}
    </g>
  );
}

function Cross() {
  const hz = cursor_hz.value;
  const deg = angle_deg.value;
  return (
    <g class="cross" aria-hidden="true">
      {hz !== null && <line x1={x_of(hz)} x2={x_of(hz)} y1={BOX.top} y2={BOTTOM} />}
      {deg !== null && <line x1={BOX.left} x2={RIGHT} y1={y_of(deg)} y2={y_of(deg)} />}
    </g>
  );
}

/** The pane that pointer and keys act on. */
function Surface() {
  const size = () => {
    const now = picture.peek();
    const bands = now?.frequency_hz.length ?? 240;
    return { bands, rows: (now?.array(name.peek())?.length ?? 72 * bands) / bands };
  };
  const look = (band: number, row: number): void => {
    const now = picture.peek();
    cursor_hz.value = now?.frequency_hz[band] ?? frequency_at((band + 0.5) / size().bands);
    angle_deg.value = FIRST_DEG + STEP_DEG * row;
  };
  const point = (event: PointerEvent): void => {
    const pane = (event.currentTarget as SVGElement).getBoundingClientRect();
    const { bands, rows } = size();
    const spot = spot_at((event.clientX - pane.left) / pane.width, (event.clientY - pane.top) / pane.height, bands, rows);
    look(spot.band, spot.row);
  };
  const keys = (event: KeyboardEvent): void => {
    const step = event.shiftKey ? 10 : 1;
    const by = { ArrowLeft: [-step, 0], ArrowRight: [step, 0], ArrowUp: [0, step], ArrowDown: [0, -step] }[event.key];
    if (event.key === "Escape") leave();
    if (!by) return;
    event.preventDefault();
    const now = picture.peek();
    const start = {
      band: now ? nearest_band(now.frequency_hz, cursor_hz.peek() ?? 1000) : 120,
      row: Math.round(((angle_deg.peek() ?? 0) - FIRST_DEG) / STEP_DEG),
    };
    const next = angle_deg.peek() === null ? start : moved(start, by[0] ?? 0, by[1] ?? 0, size());
    look(next.band, next.row);
  };
  const leave = (): void => {
    cursor_hz.value = null;
    angle_deg.value = null;
  };
  const at = pointed.value;
  return (
    <rect
      class="pane"
      x={BOX.left}
      y={BOX.top}
      width={BOX.width}
      height={BOX.height}
      tabindex={0}
      role="slider"
      aria-label={`Level map of the ${orbit.value} orbit: left and right change the frequency, up and down the angle`}
      aria-valuemin={-180}
      aria-valuemax={180}
      aria-valuenow={at?.deg ?? 0}
      aria-valuetext={at ? pointed_words() : "nothing pointed at"}
      onPointerMove={point}
      onPointerDown={point}
      onPointerLeave={(event) => {
        if (event.pointerType === "mouse" && document.activeElement !== event.currentTarget) leave();
      }}
      onKeyDown={keys}
      onBlur={leave}
    />
  );
}

function Holes() {
  return (
    <g class="holes">
      {marks.value.map((mark) => {
        const x = x_of(mark.hz);
        const y = y_of(mark.along_deg);
        const open = opened.value === mark.key;
        return (
          <g
            key={mark.key}
            class={["hole", mark.near ? "near" : "away", open ? "open" : ""].join(" ")}
            tabindex={0}
            role="button"
            aria-expanded={open}
            aria-label={`${mark.number}, ${mark.seat}: hole ${number(mark.db)} dB deep at ${fine_frequency(mark.hz)}, ${angle_words(orbit.value, mark.along_deg)}; show its causes`}
            onClick={() => open_hole(mark.key)}
            onKeyDown={(event) => {
              if (event.key !== "Enter" && event.key !== " ") return;
              event.preventDefault();
              open_hole(mark.key);
            }}
          >
            <circle class="ring" cx={x} cy={y} r={13} />
            <circle class="dot" cx={x} cy={y} r={9} />
            <text x={x} y={y + 4} text-anchor="middle">
              {mark.number}
            </text>
          </g>
        );
      })}
    </g>
  );
}
