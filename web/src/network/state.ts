// What the Network desk knows beside the picture: which part is chosen, what is being typed, where the focus goes.
import { effect, signal } from "@preact/signals";
import type { Part, Way } from "../picture";
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

type Wish = { key: string } | { way: string; index: number };
/** What takes the focus once the server has answered. */
export const wish = signal<{ what: Wish; after: number } | null>(null);

effect(() => {
  if (settled.value) held.value = {};
});
effect(() => {
  if (refused.value) wish.value = null;
});

export const way_key = (way: Way): string => `way ${way.name}`;

function send(message: Message, about: string, group: string): void {
  touched.value = about;
  if (message.do === "change") change(message.changes, group);
  else {
    const { do: what, ...more } = message;
    ask(what, more);
  }
}

export function wish_for(what: Wish): void {
  wish.value = { what, after: head.value?.revision ?? 0 };
}

export const value_now = (part: Part): string => held.value[key_of_path(part.path)] ?? part.value;

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
  held.value = { ...held.value, [key]: text };
  send(message, key, `value ${key}`);
  return true;
}

export function step_value(placed: Placed, direction: 1 | -1, series: SeriesName): void {
  const next = step_written(value_now(placed.part), direction, series);
  if (next !== null) write_value(placed, next);
}

export function write_extra(placed: Placed, name: string, typed: string): boolean {
  const text = typed.trim();
  if (text === "") return false;
  send(set_extra(placed.part, name, text), key_of_path(placed.path), `${name} ${key_of_path(placed.path)}`);
  return true;
}

export function bypass(placed: Placed): void {
  send(set_bypass(placed, !placed.part.bypassed), key_of_path(placed.path), "bypass");
}

export function remove(placed: Placed, way: Way): void {
  const key = key_of_path(placed.path);
  const index = parts_of(way).findIndex(({ path }) => key_of_path(path) === key);
  wish_for({ way: way.name, index });
  send(remove_part(placed, way), key, "remove");
  said.value = `${caption(placed.part)} removed; Undo brings it back.`;
}

export function move(placed: Placed, by: 1 | -1, whole_step: boolean, way: Way): void {
  const moved = move_part(placed, by, whole_step, way);
  if (!moved) return;
  wish_for({ key: key_of_path(moved.path) });
  send(moved.message, key_of_path(placed.path), "move");
}

export function add(message: Message, about: string, then: Wish): void {
  wish_for(then);
  send(message, about, "add");
  adding.value = null;
}

export const flip = (way: Way): void => send(set_polarity(way), way_key(way), "polarity");
export const rewire = (way: Way): void => send(set_wiring(way), way_key(way), "wiring");

export function find_part(key: string | null): { placed: Placed; way: Way } | null {
  for (const way of head.value?.ways ?? []) {
    const placed = parts_of(way).find(({ path }) => key_of_path(path) === key);
    if (placed) return { placed, way };
  }
  return null;
}
