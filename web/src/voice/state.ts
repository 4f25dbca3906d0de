// What the Voice panel knows: everything of /voice.json, how the goal falls meanwhile, and what the reader asks for.
import { computed, effect, signal } from "@preact/signals";
import { ask, desk, head, jobs, late, online } from "../store";

export type Point = readonly [number, number];
export type Kind = "voice" | "builds" | "stress";

export interface Goal {
  seats: number;
  on_axis: number;
  listening_window: number;
  speech_coverage: number;
  main_seats: string[];
  slope_db_per_octave: number | null;
  lowest_impedance_ohm: number | null;
  lowest_level_db: number | null;
  most_parts: number | null;
  most_cost: number | null;
  values: string;
  pairs: boolean;
  keep_polarity: boolean;
  all_parts: boolean;
  no_more: boolean;
  orders: number[];
  seed: number;
}

export interface Spoiler {
  what: string;
  off: number;
  moves_db: number;
  tighter: number | null;
  tighter_db: number | null;
}

export interface Yield {
  builds: number;
  within_db: number;
  good: number;
  good_interval: [number, number];
  most_of_95_percent_db: number;
  level_rms_db: number;
  spoilers: Spoiler[];
}

export interface PartStress {
  name: string;
  volts_v: number;
  peak_v: number;
  amperes_a: number;
  peak_a: number;
  power_w: number;
  gives_out_v: number | null;
  limit: string;
}

export interface DriverStress {
  name: string;
  volts_v: number;
  power_w: number;
  peak_m: number;
  thermal_v: number | null;
  excursion_v: number | null;
}

export interface Stress {
  voltage_v: number;
  first: string;
  first_v: number | null;
  load: { lowest_ohm: number };
  amplifier: string;
  heat: string[];
  parts: PartStress[];
  drivers: DriverStress[];
}

export interface Made {
  name: string;
  made: string;
  tolerance: number;
  price: number | null;
  electrolytic: boolean;
  missing: boolean;
}

export interface Offer {
  goal: number;
  price: number;
  parts: number;
  note: string;
  made: Made[];
  yield: Yield;
  stress: Stress;
}

export interface Found {
  search: number;
  candidate: string;
  stale: boolean;
  in_hand: number | null;
  saved: Record<string, string>;
  words: string;
  nothing: string;
  voicing: {
    design: string;
    goal_before: number;
    goal_after: number;
    before: Offer;
    short_list: Offer[];
    suggestions: { doing: string; gained: number }[];
    limits: { lowest_level_db: number | null };
  };
}

export interface Refusal {
  what: string;
  where: string;
  cure: string;
}

export interface Shown {
  version: number;
  candidate: string;
  title: string;
  seats: string[];
  currency: string;
  stock: string | null;
  goal: Goal;
  voltage_v: number;
  running: Kind[];
  fell: Point[];
  made: Point[];
  found: Found | null;
  builds: { yield: Yield; words: string; drawn: string; title: string; stale: boolean } | null;
  stress: { stress: Stress; words: string; title: string; stale: boolean } | null;
  refused: Partial<Record<Kind, Refusal>>;
  caution: string;
}

interface News {
  version: number;
  running: Kind[];
  fell: Point[];
  made: Point[];
}

export const shown = signal<Shown | null>(null);
/** What changes several times a second while a search runs. */
export const falling = signal<News | null>(null);
/** The goal as the reader has it; the brief's until something is changed. */
export const goal = signal<Goal | null>(null);
let goal_of = "";

export const running = computed(() => falling.value?.running ?? shown.value?.running ?? []);

const REST_MS = 400; // after the last change of the design what is said of it is asked for again
let asked_for = 0;

export async function refresh(): Promise<void> {
  const mine = ++asked_for;
  const answer = await fetch("/voice.json").catch(() => null);
  if (!answer?.ok || mine !== asked_for) return;
  const came = (await answer.json()) as Shown;
  if (mine !== asked_for) return;
  shown.value = came;
  falling.value = came;
  if (goal_of !== came.candidate) goal.value = came.goal;
  goal_of = came.candidate;
}

late.set("voice", (news) => {
  const came = news as unknown as News;
  falling.value = came;
  if (came.version !== shown.value?.version) void refresh();
});

effect(() => {
  if (online.value) void refresh();
});

let rest: ReturnType<typeof setTimeout> | undefined;
const revision = computed(() => head.value?.revision);
effect(() => {
  if (revision.value === undefined || desk.value !== "network" || shown.peek() === null) return;
  clearTimeout(rest);
  rest = setTimeout(() => void refresh(), REST_MS);
});

/** Write one thing into the goal. */
export function want(part: Partial<Goal>): void {
  if (goal.value) goal.value = { ...goal.value, ...part };
}

/** The job of a kind that runs now, by its name in the header. */
export const job_of = (kind: Kind): string | undefined => jobs.value.find(({ id }) => id.startsWith(`${kind}-`))?.id;

export function stop(kind: Kind): void {
  const job = job_of(kind);
  if (job) ask("stop", { job });
}
