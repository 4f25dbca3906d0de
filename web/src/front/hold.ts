/** What the hand is moving: shown at once, written through the server, given back when the server has answered. */
import { computed, effect, signal, type ReadonlySignal } from "@preact/signals";
import type { PathKey } from "../picture";
import { change, drag_group, head, refused, settled } from "../store";
import { length_text } from "./geometry";

/** One length that can be changed: its name within the thing, where it stands in the design, its value now. */
export interface Axis {
  name: string;
  path: PathKey[];
  mm: number;
}

export interface Thing {
  key: string; // "driver tweeter", "port of low", "cabinet"
  axes: Axis[];
}

interface Held {
  key: string;
  mm: Record<string, number>;
  grabbed: boolean; // a pointer is still down on it
}

export interface Trouble {
  key: string;
  seq: number;
  what: string;
  cure: string;
}

export const held = signal<Held | null>(null);
/** What the server refused to do with the thing that was moved last. */
export const trouble = signal<Trouble | null>(null);

const own = new Map<string, ReadonlySignal<Held | null>>();

/** What the hand moves of one thing; null while it moves another, so that nobody else is drawn anew. */
export function held_of(key: string): Held | null {
  const known = own.get(key) ?? computed(() => (held.value?.key === key ? held.value : null));
  own.set(key, known);
  return known.value;
}

/** Where a length is shown: under the hand while it is moved, else where the server has it. */
export function shown(thing: Thing, name: string): number {
  const axis = thing.axes.find((one) => one.name === name);
  return held_of(thing.key)?.mm[name] ?? axis?.mm ?? 0;
}

/** Move a thing to whole lengths and tell the server. */
export function move(thing: Thing, mm: Record<string, number>, group = thing.key): void {
  const before = held.value?.key === thing.key ? held.value : null;
  const now: Record<string, number> = { ...before?.mm, ...mm };
  const moved = thing.axes.filter((axis) => axis.name in mm && mm[axis.name] !== (before?.mm[axis.name] ?? axis.mm));
  if (!moved.length) return;
  change(
    moved.map((axis) => ({ file: "design", path: axis.path, text: length_text(mm[axis.name] ?? axis.mm) })),
    group,
  );
  held.value = { key: thing.key, mm: now, grabbed: before?.grabbed ?? false }; // after: only now is there an answer to wait for
}

/** A pointer takes hold; returns the name of the step that undo takes back. */
export function grab(thing: Thing): string {
  const mm = Object.fromEntries(thing.axes.map((axis) => [axis.name, axis.mm]));
  trouble.value = null;
  held.value = { key: thing.key, mm, grabbed: true };
  return drag_group(thing.key);
}

export function let_go(): void {
  if (!held.value) return;
  if (settled.value) held.value = null;
  else held.value = { ...held.value, grabbed: false };
}

effect(() => {
  if (settled.value && held.value && !held.value.grabbed) held.value = null;
});

// The refusal is told beside the thing; the frame's own bar would push the page down under the hand.
effect(() => {
  const no = refused.value;
  const key = held.peek()?.key;
  if (!no || !key) return;
  trouble.value = { key, seq: no.seq, what: no.what, cure: no.cure };
  refused.value = null;
});

effect(() => {
  const now = head.value;
  const no = trouble.peek();
  if (now && no && now.seq > no.seq) trouble.value = null;
});
