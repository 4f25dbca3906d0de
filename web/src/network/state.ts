// What the Network desk knows beside the picture: which part is chosen, what is being typed, where the focus goes.
import { effect, signal } from "@preact/signals";
import type { Element, Part, PathKey, Way } from "../picture";
import { ask, change, head, refused, said, settled } from "../store";
import { step_written, tidy_typed, type SeriesName } from "./series";
import { caption } from "./layout";
import {
  key_of_path,
  move_part,
  parts_of,
  remove_part,
  set_bypass,
  set_extra,
  set_polarity,
  set_value,
  set_wiring,
  type Message,
  type Placed,
} from "./tree";

/** Key of the chosen part; its details stand below the drawing. */
export const chosen_part = signal<string | null>(null);
/** Key of the part whose value is being typed in place. */
export const typing_at = signal<string | null>(null);
/** Where a part is being added: at a place on the rail, or beside a part. */
export const adding = signal<{ way: string; index: number; beside: string | null } | null>(null);
/** What the last message was about; a refusal is shown there. */
export const touched = signal<string | null>(null);
/** Values just set, shown until the server's picture of them is there. */
export const held = signal<Record<string, string>>({});

/** Key of the part under the pointer. */
export const hovered = signal<string | null>(null);
/** What a screen reader is told after a key has changed something. */
export const spoken = signal("");

type Wish = { key: string } | { way: string; index: number };
/** What takes the focus once the server has answered the message of this number. */
export const wish = signal<{ what: Wish; seq: number; since: number } | null>(null);
const LONGEST_WAIT_MS = 3000;

effect(() => {
  if (settled.value) held.value = {};
});
effect(() => {
  if (refused.value) {
    wish.value = null;
    held.value = {};
  }
});

export const way_key = (way: Way): string => `way ${way.name}`;

/** Send values: shown at once, and the newest wins. */
function send_values(message: Message, about: string, group: string): void {
  touched.value = about;
  if (message.do !== "change") return;
  const texts = message.changes.map(({ path, text }) => [key_of_path(path), text] as const);
  held.value = { ...held.value, ...Object.fromEntries(texts) };
  change(message.changes, group);
}

/**
 * Send what changes the tree; the focus goes where it is wished once that has happened. Until then paths may be
 * those of the tree before, so a second press waits for nothing and does nothing.
 */
function send_step(message: Message, about: string, then: Wish): boolean {
  const since = performance.now();
  if (wish.value && since - wish.value.since < LONGEST_WAIT_MS) return false;
  touched.value = about;
  const { do: what, ...more } = message;
  wish.value = { what: then, since, seq: ask(what, what === "change" ? { ...more, group: what } : more) };
  return true;
}

export const value_now = (part: Part): string =>
  (part.value_path && held.value[key_of_path(part.value_path)]) || part.value;

/** The ways as they will be once the server has taken the values just set. */
export function ways_now(): readonly Way[] {
  const ways = head.value?.ways ?? [];
  const values = held.value;
  if (!Object.keys(values).length) return ways;
  const text = (path: PathKey[]): string | undefined => values[key_of_path(path)];
  const with_values = (element: Element): Element => {
    if ("chain" in element) return { ...element, chain: element.chain.map(with_values) };
    if ("bank" in element) return { ...element, bank: element.bank.map(with_values) };
    const bypassed = text([...element.path, "bypassed"]);
    return { ...element, value: value_now(element), bypassed: bypassed ? bypassed === "true" : element.bypassed };
  };
  return ways.map((way) => ({
    ...way,
    polarity: text(["ways", way.name, "polarity"]) ?? way.polarity,
    wired: text(["ways", way.name, "wired"]) ?? way.wired,
    steps: way.steps.map((step) => ({ ...step, element: with_values(step.element) })),
  }));
}

/** Write a value as typed; true when there was something to send. */
export function write_value(placed: Placed, typed: string): boolean {
  const key = key_of_path(placed.path);
  const text = tidy_typed(typed, placed.part.part);
  if (text === "") return false;
  if (text === value_now(placed.part)) return true;
  const message = set_value(placed.part, text);
  if (!message) {
    said.value = `${placed.part.label} is described in a file of its own; change its value there.`;
    return false;
  }
  send_values(message, key, `value ${key}`);
  spoken.value = `${placed.part.label} ${text}`;
  return true;
}

export function step_value(placed: Placed, direction: 1 | -1, series: SeriesName): void {
  const next = step_written(value_now(placed.part), direction, series);
  if (next !== null) write_value(placed, next);
}

export function write_extra(placed: Placed, name: string, typed: string): boolean {
  const text = typed.trim();
  if (text === "") return false;
  send_values(set_extra(placed.part, name, text), key_of_path(placed.path), `${name} ${key_of_path(placed.path)}`);
  return true;
}

export function bypass(placed: Placed): void {
  send_values(set_bypass(placed, !placed.part.bypassed), key_of_path(placed.path), "bypass");
  spoken.value = `${placed.part.label} ${placed.part.bypassed ? "in use again" : "bypassed"}`;
}

export function remove(placed: Placed, way: Way): void {
  const key = key_of_path(placed.path);
  const index = parts_of(way).findIndex(({ path }) => key_of_path(path) === key);
  if (send_step(remove_part(placed, way), key, { way: way.name, index })) {
    said.value = `${caption(placed.part)} removed; Undo brings it back.`;
  }
}

export function move(placed: Placed, by: 1 | -1, whole_step: boolean, way: Way): void {
  const moved = move_part(placed, by, whole_step, way);
  if (moved) send_step(moved.message, key_of_path(placed.path), { key: key_of_path(moved.path) });
}

export function add(message: Message, about: string, then: Wish): void {
  send_step(message, about, then);
  adding.value = null;
}

export function flip(way: Way): void {
  send_values(set_polarity(way), way_key(way), "polarity");
  spoken.value = `Polarity of way ${way.name} ${way.polarity === "reversed" ? "normal" : "reversed"}`;
}
export const rewire = (way: Way): void => send_values(set_wiring(way), way_key(way), "wiring");

export function find_part(key: string | null): { placed: Placed; way: Way } | null {
  for (const way of ways_now()) {
    const placed = parts_of(way).find(({ path }) => key_of_path(path) === key);
    if (placed) return { placed, way };
  }
  return null;
}
