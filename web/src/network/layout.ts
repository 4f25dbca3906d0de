// Where everything of the schematic stands. Series elements lie on the rail and grow upward, shunt elements hang
// below it down to the return; so the two never meet, and text of a shunt fits under the next series element.
import type { Element, Part, Way } from "../picture";
import { shown } from "./series";
import { effects_of, is_part, key_of_path, members, signed } from "./tree";
import { HALF_HEIGHT, LENGTH, SYMBOLS } from "./symbols";

export interface DrawnPart {
  key: string;
  part: Part;
  upright: boolean;
  /** Start of the symbol: its left end, or its upper end when upright. */
  x: number;
  y: number;
  text_x: number;
  text_y: number;
  anchor: "middle" | "start";
  box: { x: number; y: number; width: number; height: number };
}

export interface DrawnDriver {
  name: string;
  x: number;
  y: number;
}

export interface Gap {
  index: number;
  x: number;
  y: number;
}

export interface DrawnWay {
  way: Way;
  top: number;
  rail: number;
  floor: number;
  end: number;
  parts: DrawnPart[];
  drivers: DrawnDriver[];
  gaps: Gap[];
  /** Wires as one path, and the places where wires join. */
  wire: string;
  joints: [number, number][];
}

export interface Drawing {
  width: number;
  height: number;
  ways: DrawnWay[];
}

export const START = 84; // the rail begins here; the way's name stands before it
const GAP = 24; // room for one "+" on the rail
const LEAD = 8;
const ABOVE = 44; // of a series part: two lines of text and half its symbol
const SHUNT_HEIGHT = LENGTH + 2 * LEAD;
const SHUNT_LEFT = 14;
const TEXT_OFFSET = 16;
const ROW_GAP = 22;
const DRIVER_HEIGHT = 50;
const DRIVER_TEXT = 26;
const MARGIN = 6;

/** Width of text as it will be at most; the drawing must not wait for the browser to measure it. */
export const text_width = (text: string, size: number): number => text.length * size * 0.5;

export const caption = (part: Part): string => `${part.label} ${shown(part.value)}`;

const LONGEST_NAME = 14;
export const short = (name: string): string =>
  name.length > LONGEST_NAME ? `${name.slice(0, LONGEST_NAME - 1).trimEnd()}…` : name;

/** What stands under a part: that it is bypassed, or its largest effect. */
export function remark(part: Part): string {
  if (part.bypassed) return "bypassed";
  const largest = effects_of(part)[0];
  return largest ? `${short(largest.seat)} ${signed(largest.db)} dB` : "";
}

/** Room that every part keeps for its remark, so that nothing moves when effects come a moment later. */
let kept_free = 40;

const text_of = (part: Part): number =>
  Math.max(text_width(caption(part), 13.5), text_width(remark(part), 12), kept_free);

/** Pen of one way: collects wires, joints and parts. */
class Pen {
  readonly parts: DrawnPart[] = [];
  readonly joints: [number, number][] = [];
  private path = "";

  wire(...points: [number, number][]): void {
    this.path += points.map(([x, y], place) => `${place ? "L" : "M"}${round(x)} ${round(y)}`).join("");
  }

  joint(x: number, y: number): void {
    this.joints.push([round(x), round(y)]);
  }

  get wires(): string {
    return this.path;
  }
}

const round = (value: number): number => Math.round(value * 10) / 10;

interface Lying {
  width: number;
  above: number;
  draw(pen: Pen, x: number, y: number): void;
}

interface Hanging {
  left: number;
  right: number;
  height: number;
  draw(pen: Pen, x: number, y: number): void;
}

function lying_part(part: Part): Lying {
  const width = Math.max(text_of(part) + 8, LENGTH + 2 * LEAD);
  return {
    width,
    above: ABOVE,
    draw(pen, x, y) {
      const start = x + (width - LENGTH) / 2;
      const symbol = SYMBOLS[part.part];
      pen.wire([x, y], [start + symbol.from, y]);
      pen.wire([start + symbol.to, y], [x + width, y]);
      pen.parts.push({
        key: key_of_path(part.path),
        part,
        upright: false,
        x: round(start),
        y: round(y),
        text_x: round(x + width / 2),
        text_y: round(y - 29),
        anchor: "middle",
        box: { x: round(x), y: round(y - ABOVE), width: round(width), height: ABOVE + HALF_HEIGHT + 2 },
      });
    },
  };
}

function lying(element: Element): Lying {
  if (is_part(element)) return lying_part(element);
  const inside = members(element).map(lying);
  if ("chain" in element) {
    return {
      width: inside.reduce((sum, one) => sum + one.width, 0),
      above: Math.max(0, ...inside.map((one) => one.above)),
      draw(pen, x, y) {
        let at = x;
        for (const one of inside) {
          one.draw(pen, at, y);
          at += one.width;
        }
      },
    };
  }
  return lying_bank(inside);
}

/** Rows over each other; the lowest lies on the rail. */
function lying_bank(rows: Lying[]): Lying {
  const widest = Math.max(0, ...rows.map((row) => row.width));
  const width = widest + 2 * LEAD;
  const above = rows.reduce((sum, row) => sum + row.above + HALF_HEIGHT + 5, -HALF_HEIGHT - 5);
  return {
    width,
    above,
    draw(pen, x, y) {
      let at = y;
      rows.forEach((row, place) => {
        const side = (widest - row.width) / 2;
        pen.wire([x + (place ? LEAD : 0), at], [x + LEAD + side, at]);
        row.draw(pen, x + LEAD + side, at);
        pen.wire([x + width - LEAD - side, at], [x + width - (place ? LEAD : 0), at]);
        if (place) {
          pen.wire([x + LEAD, y], [x + LEAD, at]);
          pen.wire([x + width - LEAD, y], [x + width - LEAD, at]);
        }
        if (rows.length > 1 && place < rows.length - 1) {
          pen.joint(x + LEAD, at);
          pen.joint(x + width - LEAD, at);
        }
        at -= row.above + HALF_HEIGHT + 5;
      });
    },
  };
}

function hanging_part(part: Part): Hanging {
  const right = TEXT_OFFSET + text_of(part) + 4;
  return {
    left: SHUNT_LEFT,
    right,
    height: SHUNT_HEIGHT,
    draw(pen, x, y) {
      const start = y + LEAD;
      const symbol = SYMBOLS[part.part];
      // A bypassed shunt is open: its upper lead stops short.
      pen.wire([x, y], [x, part.bypassed ? y + 3 : start + symbol.from]);
      pen.wire([x, start + symbol.to], [x, y + SHUNT_HEIGHT]);
      pen.parts.push({
        key: key_of_path(part.path),
        part,
        upright: true,
        x: round(x),
        y: round(start),
        text_x: round(x + TEXT_OFFSET),
        text_y: round(y + SHUNT_HEIGHT / 2 - 1),
        anchor: "start",
        box: {
          x: round(x - SHUNT_LEFT),
          y: round(y + 11),
          width: round(SHUNT_LEFT + right),
          height: SHUNT_HEIGHT - 13,
        },
      });
    },
  };
}

function hanging(element: Element): Hanging {
  if (is_part(element)) return hanging_part(element);
  const inside = members(element).map(hanging);
  if ("bank" in element) return hanging_bank(inside);
  return {
    left: Math.max(0, ...inside.map((one) => one.left)),
    right: Math.max(0, ...inside.map((one) => one.right)),
    height: inside.reduce((sum, one) => sum + one.height, 0),
    draw(pen, x, y) {
      let at = y;
      for (const one of inside) {
        one.draw(pen, x, at);
        at += one.height;
      }
    },
  };
}

/** Columns beside each other; the first hangs straight down. */
function hanging_bank(columns: Hanging[]): Hanging {
  const offsets: number[] = [];
  columns.forEach((column, place) => {
    const before = columns[place - 1];
    offsets.push(before ? (offsets[place - 1] ?? 0) + before.right + column.left : 0);
  });
  const height = Math.max(0, ...columns.map((column) => column.height)) + 2 * LEAD;
  return {
    left: columns[0]?.left ?? 0,
    right: (offsets.at(-1) ?? 0) + (columns.at(-1)?.right ?? 0),
    height,
    draw(pen, x, y) {
      columns.forEach((column, place) => {
        const at = x + (offsets[place] ?? 0);
        pen.wire([at, y + LEAD - (place ? 0 : LEAD)], [at, y + LEAD]);
        column.draw(pen, at, y + LEAD);
        pen.wire([at, y + LEAD + column.height], [at, y + height - (place ? LEAD : 0)]);
        if (place < columns.length - 1) {
          pen.joint(at, y + LEAD);
          pen.joint(at, y + height - LEAD);
        }
      });
      const last = x + (offsets.at(-1) ?? 0);
      pen.wire([x, y + LEAD], [last, y + LEAD]);
      pen.wire([x, y + height - LEAD], [last, y + height - LEAD]);
    },
  };
}

interface Ladder {
  above: number;
  below: number;
  end: number;
  pen: Pen;
  gaps: { index: number; x: number }[];
  shunts: [x: number, height: number][];
}

/** Lay the steps of one way along a rail at y = 0. */
function ladder(way: Way): Ladder {
  const pen = new Pen();
  const result: Ladder = { above: ABOVE, below: 0, end: 0, pen, gaps: [], shunts: [] };
  let x = START;
  let clear_x = START; // left of here, below the rail, something hangs already
  const gap = (index: number): void => {
    result.gaps.push({ index, x: x + GAP / 2 });
    pen.wire([x, 0], [x + GAP, 0]);
    x += GAP;
  };
  gap(0);
  way.steps.forEach((step, index) => {
    if (step.kind === "series") {
      const one = lying(step.element);
      one.draw(pen, x, 0);
      result.above = Math.max(result.above, one.above);
      x += one.width;
    } else {
      const one = hanging(step.element);
      const at = Math.max(x + 6, clear_x + one.left);
      pen.wire([x, 0], [at, 0]);
      one.draw(pen, at, 0);
      pen.joint(at, 0);
      result.shunts.push([at, one.height]);
      result.below = Math.max(result.below, one.height);
      clear_x = at + one.right;
      pen.wire([at, 0], [at + 6, 0]);
      x = at + 6;
    }
    gap(index + 1);
  });
  result.end = Math.max(x, clear_x);
  pen.wire([x, 0], [result.end, 0]);
  return result;
}

/** Wires of a way from its rail to its return: drivers over each other in series, beside each other in parallel. */
function hang_drivers(way: Way, pen: Pen, x: number, floor: number): { drivers: DrawnDriver[]; right: number } {
  const stacked = way.wired === "series";
  const drivers: DrawnDriver[] = [];
  let at = x;
  let right = x;
  way.drivers.forEach((name, place) => {
    const reach = DRIVER_TEXT + text_width(name, 13) + 6;
    const middle = stacked ? (place + 0.5) * DRIVER_HEIGHT + 4 : floor / 2;
    const [upper, lower] = stacked ? [place * DRIVER_HEIGHT, (place + 1) * DRIVER_HEIGHT] : [0, floor];
    pen.wire([at, upper], [at, middle - 9]);
    pen.wire([at, middle + 9], [at, stacked && place === way.drivers.length - 1 ? floor : lower]);
    if (!stacked && place < way.drivers.length - 1) {
      pen.joint(at, 0);
      pen.joint(at, floor);
    }
    drivers.push({ name, x: round(at), y: round(middle) });
    right = Math.max(right, at + reach);
    if (!stacked) at += reach + 20;
  });
  const last = stacked ? x : (drivers.at(-1)?.x ?? x);
  pen.wire([x, 0], [last, 0]);
  pen.wire([START, floor], [last, floor]);
  return { drivers, right };
}

/** Lay out all ways, the drivers of all of them in one column; with room for what may be said of any seat. */
export function lay_out(ways: readonly Way[], seats: readonly string[] = []): Drawing {
  kept_free = Math.max(40, ...seats.map((seat) => text_width(`${short(seat)} −0.00 dB`, 12)));
  const ladders = ways.map(ladder);
  const end = Math.max(START + 40, ...ladders.map((one) => one.end)) + 22;
  let top = MARGIN;
  let width = 0;
  const drawn = ways.map((way, place): DrawnWay => {
    const one = ladders[place] as Ladder;
    const of_drivers = way.wired === "series" ? way.drivers.length * DRIVER_HEIGHT + 8 : DRIVER_HEIGHT + 8;
    const floor = Math.max(one.below, of_drivers, SHUNT_HEIGHT) + 4;
    one.pen.wire([one.end, 0], [end, 0]);
    for (const [x, height] of one.shunts) {
      one.pen.wire([x, height], [x, floor]);
      one.pen.joint(x, floor);
    }
    const { drivers, right } = hang_drivers(way, one.pen, end, floor);
    const rail = top + one.above;
    width = Math.max(width, right + MARGIN);
    const result = {
      way,
      top,
      rail,
      floor,
      end,
      parts: one.pen.parts,
      drivers,
      gaps: one.gaps.map(({ index, x }) => ({ index, x: round(x), y: 0 })),
      wire: one.pen.wires,
      joints: one.pen.joints,
    };
    top = rail + floor + ROW_GAP;
    return result;
  });
  return { width: Math.ceil(width), height: Math.ceil(top - ROW_GAP + 16), ways: drawn };
}

/** The part that stands nearest to a place in a list of parts, for the focus after one has gone. */
export function neighbour(parts: readonly { key: string }[], key: string): string | null {
  const place = parts.findIndex((one) => one.key === key);
  return (parts[place - 1] ?? parts[place + 1])?.key ?? null;
}
