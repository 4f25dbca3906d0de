// What the server sends: the picture of one design, and everything else that may come over the wire.

export type DeskName = "seats" | "front" | "network" | "listen";

export interface Hole {
  db: number;
  hz: number;
}

export interface Story {
  db: number;
  hz: number;
  shares: { cause: string; db: number }[];
  rest_db: number;
  in_room_db: number;
  fills: { surface: string; db: number }[];
}

export interface Heard {
  spread_db: number;
  direct_spread_db?: number;
  hole: Hole | null;
  direct_hole?: Hole | null;
}

export interface SeatRow {
  placement: string;
  name: string;
  x_m: number;
  y_m: number;
  ear_m: number;
  azimuth_deg: number;
  elevation_deg: number;
  distance_m: number;
  spread_db: number;
  direct_spread_db: number;
  hole: Hole | null;
  direct_hole: Hole | null;
  kept: Heard | null;
  other: Heard | null;
  stories: Story[];
  cure: string | null;
  /** How clear speech is, and how sure the numbers are; null until it is known. */
  heard: HeardWell | null;
}

export type Range = [number, number];

export interface HeardWell {
  c50_db: number;
  u50_db: number;
  sti: number;
  speech: { rating: string; level_db_a: number; noise_db_a: number };
  /** Null where they are not known. */
  ranges?: Record<"spread_db" | "direct_spread_db" | "hole_db" | "direct_hole_db" | "c50_db" | "u50_db" | "sti", Range>;
  unsure_because?: { what: string; moves_spread_db: number }[];
}

/** What turning, treating and moving would do; seats in the order of the rows. */
export interface RoomStory {
  turn_deg: number[];
  spread_db: number[][];
  direct_spread_db: number[][];
  c50_db: number[][];
  head_moved_db: number[];
  changes: { doing: string; spread_db: number[]; gained_db: number }[];
}

/** Several speakers in one room. */
export interface Together {
  seats: string[];
  each: { placement: string; title: string; spread_db: number[] }[];
  sum_spread_db: number[];
  fits: { placement: string; others: string[]; seat: string; louder_db: number; timbre_db: number; bass_octaves: number }[];
}

/** A board or screen near the speakers, seen from above. */
export interface Reflector {
  name: string;
  x_m: [number, number];
  y_m: [number, number];
}

export interface Placement {
  name: string;
  x_m: number;
  y_m: number;
  z_m: number;
  turn_deg: number;
  tilt_deg: number;
  own: boolean;
}

export interface Part {
  part: "coil" | "capacitor" | "resistor";
  label: string;
  value: string;
  /** Null for a part that has a file of its own. */
  value_path: PathKey[] | null;
  path: PathKey[];
  extras: Record<string, string | number>;
  bypassed: boolean;
  step_effect: { seat: string; db: number }[] | null;
}

export type Element = Part | { chain: Element[]; path: PathKey[] } | { bank: Element[]; path: PathKey[] };

export interface Way {
  name: string;
  drivers: string[];
  wired: string;
  polarity: string;
  enclosure: string;
  steps: { kind: "series" | "shunt"; path: PathKey[]; element: Element }[];
}

export type Level = "stops" | "check" | "fine";

export interface Finding {
  code: string;
  level: Level;
  what: string;
  where: string;
  cause: string;
  cure: string;
  show: { desk: DeskName; target: string } | null;
}

export interface DriverPlace {
  name: string;
  way: string;
  kind: string;
  part: string;
  across_mm: number;
  up_mm: number;
  set_back_mm: number;
  radius_mm: number;
  overall_mm: number;
}

export interface PortPlace {
  way: string;
  across_mm: number;
  up_mm: number;
  radius_mm: number;
}

export interface Cabinet {
  width_mm: number;
  height_mm: number;
  depth_mm: number;
  edge_radius_mm: number;
  wall_mm: number;
}

export interface Coverage {
  positive_deg: number;
  negative_deg: number;
  positive_limit_hz: number | null;
  negative_limit_hz: number | null;
}

export interface PictureHead {
  kind: "picture";
  /** Whether everything is there; while a hand moves only what is in view is, and the rest is that of the picture before. */
  whole: boolean;
  seq: number;
  revision: number;
  /** Names the line of work; a page that tells it gets its work back when the server was started again. */
  work: string;
  full: boolean;
  /** Which solver it comes from, in few words. */
  solver: string;
  candidate: string;
  candidates: { file: string; title: string }[];
  other: string | null;
  unsaved: boolean;
  can_undo: boolean;
  can_redo: boolean;
  kept: boolean;
  changes: { what: string; kept: string; now: string }[];
  room: { title: string; length_m: number; width_m: number; height_m: number };
  seats: SeatRow[];
  placements: Placement[];
  reflectors: Reflector[];
  /** Null until it is known. */
  story: RoomStory | null;
  together: Together | null;
  cabinet: Cabinet;
  drivers: DriverPlace[];
  ports: PortPlace[];
  ways: Way[];
  findings: Finding[];
  rules: { what: string; rule: string; exact: string }[];
  spread_among_seats_db: number;
  impedance_minimum: { ohm: number; hz: number };
  rated_impedance_ohm: number | null;
  crossings_hz: (number | null)[];
  coverage: Record<"horizontal" | "vertical", Coverage>;
  estimated: string[];
  arrays: Record<string, { offset: number; shape: number[] }>;
}

export type PathKey = string | number;

export interface Change {
  file: "design" | "brief";
  path: PathKey[];
  text: string;
}

export interface Refused {
  kind: "refused";
  seq: number;
  what: string;
  where: string;
  cure: string;
}

export interface Job {
  kind: "job";
  id: string;
  title: string;
  share: number;
  doing: string;
  seconds_left: number | null;
}

export interface Asked {
  kind: "asked";
  question: string;
  [more: string]: unknown;
}

export interface CurvePreview {
  kind: "curve";
  [more: string]: unknown;
}

/** News for a part of the page that is fetched late. */
export interface LateNews {
  kind: "voice";
}

export type OtherHead = Refused | Job | Asked | CurvePreview | LateNews;

interface Numbers {
  values: Float32Array;
  shape: number[];
}

/** A picture with its arrays: views into the frames that came, never copied. */
export class Picture {
  constructor(
    readonly head: PictureHead,
    private readonly arrays: ReadonlyMap<string, Numbers>,
  ) {}

  has(name: string): boolean {
    return this.arrays.has(name);
  }

  /** All numbers of an array, or null where the server sent none. */
  array(name: string): Float32Array | null {
    return this.arrays.get(name)?.values ?? null;
  }

  /** One row of a two-dimensional array. */
  row(name: string, index: number): Float32Array | null {
    const { values, shape } = this.arrays.get(name) ?? {};
    const [rows, width] = shape ?? [];
    if (!values || rows === undefined || width === undefined || index < 0 || index >= rows) return null;
    return values.subarray(index * width, (index + 1) * width);
  }

  /** This whole picture after another: what did not change in its head stays the same object. */
  after(before: Picture): Picture {
    return new Picture(kept_same(before.head, this.head) as PictureHead, this.arrays);
  }

  /** This picture laid over the one before, which gives whatever this one leaves out. */
  over(before: Picture): Picture {
    const seats = this.head.seats && laid_over(this.head.seats, before.head.seats);
    const coverage = { ...before.head.coverage, ...this.head.coverage };
    const head = { ...before.head, ...this.head, coverage, ...(seats ? { seats } : {}) };
    return new Picture(kept_same(before.head, head) as PictureHead, new Map([...before.arrays, ...this.arrays]));
  }

  get frequency_hz(): Float32Array {
    return this.array("frequency_hz") ?? new Float32Array();
  }
}

/** Rows of seats with whatever they leave out taken from the same seat before. */
function laid_over(rows: readonly SeatRow[], before: readonly SeatRow[]): SeatRow[] {
  const same = (row: SeatRow) => before.find(({ placement, name }) => placement === row.placement && name === row.name);
  return rows.map((row) => ({ ...same(row), ...row }));
}

/** The newer value, every part of it that equals the one before being that very object: so unchanged things are seen to be. */
export function kept_same(before: unknown, now: unknown): unknown {
  if (before === now || typeof before !== "object" || typeof now !== "object" || !before || !now) return now;
  if (Array.isArray(before) !== Array.isArray(now)) return now;
  const old = before as Record<string, unknown>;
  const fresh = now as Record<string, unknown>;
  const keys = Object.keys(fresh);
  let same = keys.length === Object.keys(old).length;
  for (const key of keys) {
    const part = kept_same(old[key], fresh[key]);
    fresh[key] = part;
    same &&= part === old[key] && key in old;
  }
  return same ? before : now;
}

export type Frame = { picture: Picture } | { head: OtherHead };

/** Take one binary frame apart: length of the header, header, padding to four bytes, numbers. */
export function decode(frame: ArrayBuffer): Frame {
  if (frame.byteLength < 4) throw new Error(`a frame of ${frame.byteLength} bytes holds no header`);
  const length = new DataView(frame).getUint32(0, true);
  if (4 + length > frame.byteLength) {
    throw new Error(`a header of ${length} bytes does not fit a frame of ${frame.byteLength} bytes`);
  }
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(frame, 4, length))) as PictureHead | OtherHead;
  if (head.kind !== "picture") return { head };
  const start = Math.ceil((4 + length) / 4) * 4;
  const arrays = new Map<string, Numbers>();
  for (const [name, { offset, shape }] of Object.entries(head.arrays)) {
    const size = shape.reduce((product, count) => product * count, 1);
    arrays.set(name, { values: new Float32Array(frame, start + 4 * offset, size), shape });
  }
  return { picture: new Picture(head, arrays) };
}
