// The tree of parts as the server sends it: walking it, naming places in it, and the messages that change it.
import type { Change, Element, Part, PathKey, Way } from "../picture";
import type { PartKind } from "./series";

export type StepKind = "series" | "shunt";

/** One part and where it stands. */
export interface Placed {
  part: Part;
  way: string;
  kind: StepKind;
  /** Of the component itself, such as ways > low > network > 1 > shunt > 0. */
  path: PathKey[];
  /** Of the list item that goes when the part goes. */
  item: PathKey[];
  /** How many stand in the list that holds the item. */
  among: number;
}

export type Message =
  | { do: "change"; changes: Change[] }
  | { do: "insert"; path: PathKey[]; index: number; text: string }
  | { do: "remove"; path: PathKey[] }
  | { do: "move"; path: PathKey[]; to: number };

export const key_of_path = (path: readonly PathKey[]): string => JSON.stringify(path);
export const is_part = (element: Element): element is Part => "part" in element;
export const members = (element: Element): Element[] =>
  is_part(element) ? [] : "chain" in element ? element.chain : element.bank;

/** The list item that holds a path: words at the end (series, shunt, parallel) belong to the item. */
export function item_of(path: readonly PathKey[]): PathKey[] {
  const item = [...path];
  while (item.length && typeof item.at(-1) !== "number") item.pop();
  return item;
}

/** All parts of a way, from the amplifier toward the driver. */
export function parts_of(way: Way): Placed[] {
  const found: Placed[] = [];
  const walk = (element: Element, kind: StepKind, among: number): void => {
    if (is_part(element)) {
      const path = element.path;
      found.push({ part: element, way: way.name, kind, path, item: item_of(path), among });
      return;
    }
    const inside = members(element);
    for (const member of inside) walk(member, kind, inside.length);
  };
  for (const step of way.steps) walk(step.element, step.kind, way.steps.length);
  return found;
}

/** Where an element hangs: straight in a step of the network, or in a list of its own. */
export function stands_in(placed: Placed): "step" | "chain" | "bank" {
  const above = placed.item.slice(0, -1).at(-1);
  return above === "network" ? "step" : above === "parallel" ? "bank" : "chain";
}

const PLAIN = /^[\w.+\-/%°µμΩΩ ]+$/;

const written = (value: string | number | boolean): string =>
  typeof value === "string" && !PLAIN.test(value) ? JSON.stringify(value) : String(value);

/** Write an element as it stands in the file. */
export function yaml_of(element: Element): string {
  if (!is_part(element)) {
    const inside = `[${members(element).map(yaml_of).join(", ")}]`;
    return "chain" in element ? inside : `{parallel: ${inside}}`;
  }
  const extras = Object.entries(element.extras).filter(([, value]) => value !== null && value !== "");
  const own = element.value_path ? [`${element.part}: ${element.value}`] : []; // else the extras name its file
  const entries = [...own, ...extras.map(([key, value]) => `${key}: ${written(value ?? "")}`)];
  if (element.bypassed) entries.push("bypassed: true");
  return `{${entries.join(", ")}}`;
}

const design = (path: PathKey[], text: string): Message => ({
  do: "change",
  changes: [{ file: "design", path, text }],
});
const network_of = (way: string): PathKey[] => ["ways", way, "network"];

/** A part that has a file of its own gets its value written there by hand: its value has no place in the design. */
export const set_value = (part: Part, text: string): Message | null =>
  part.value_path ? design(part.value_path, text) : null;
export const set_extra = (part: Part, name: string, text: string): Message => design([...part.path, name], text);
export const set_bypass = (placed: Placed, on: boolean): Message =>
  design([...placed.path, "bypassed"], on ? "true" : "false");
export const set_polarity = (way: Way): Message =>
  design(["ways", way.name, "polarity"], way.polarity === "reversed" ? "normal" : "reversed");
export const set_wiring = (way: Way): Message =>
  design(["ways", way.name, "wired"], way.wired === "series" ? "parallel" : "series");

/** Add a step of one part; a way that has none yet gets its list. */
export function add_step(way: Way, index: number, kind: StepKind, part: PartKind, value: string): Message {
  const text = `{${kind}: {${part}: ${value}}}`;
  if (!way.steps.length) return design(network_of(way.name), `[${text}]`);
  return { do: "insert", path: network_of(way.name), index, text };
}

interface Edit {
  message: Message;
  /** Of the part that is meant, once the message has been done. */
  path: PathKey[];
}

/** Add a part in series with another or across it, inside the step where that one stands. */
export function add_beside(placed: Placed, how: "chain" | "bank", part: PartKind, value: string): Edit {
  const text = `{${part}: ${value}}`;
  if (stands_in(placed) === how) {
    const list = placed.item.slice(0, -1);
    const index = Number(placed.item.at(-1)) + 1;
    return { message: { do: "insert", path: list, index, text }, path: [...list, index] };
  }
  const both = `[${yaml_of(placed.part)}, ${text}]`;
  return how === "chain"
    ? { message: design(placed.path, both), path: [...placed.path, 1] }
    : { message: design(placed.path, `{parallel: ${both}}`), path: [...placed.path, "parallel", 1] };
}

/** Remove a part; a list that would be left empty goes with it. */
export function remove_part(placed: Placed, way: Way): Message {
  let item = placed.item;
  while (item.at(-2) !== "network" && members_at(way, item.slice(0, -1)) === 1) item = item_of(item.slice(0, -1));
  if (item.at(-2) === "network" && way.steps.length === 1) return design(network_of(way.name), "[]");
  return { do: "remove", path: item };
}

function members_at(way: Way, list: readonly PathKey[]): number {
  const wanted = key_of_path(list);
  const items = parts_of(way).map(({ path }) => path.slice(0, list.length + 1));
  return new Set(items.filter((path) => key_of_path(path.slice(0, -1)) === wanted).map(key_of_path)).size;
}

/** Move a part by one place among its neighbours, or the whole step it stands in; null at the end of the row. */
export function move_part(placed: Placed, by: 1 | -1, whole_step: boolean, way: Way): Edit | null {
  const item = whole_step ? placed.path.slice(0, 4) : placed.item;
  const among = item.at(-2) === "network" ? way.steps.length : placed.among;
  const to = Number(item.at(-1)) + by;
  if (to < 0 || to >= among) return null;
  return {
    message: { do: "move", path: item, to },
    path: [...item.slice(0, -1), to, ...placed.path.slice(item.length)],
  };
}

/** What one step up of the part's value does to the seats, the largest first. */
export function effects_of(part: Part): { seat: string; db: number }[] {
  return [...(part.step_effect ?? [])].sort((one, other) => Math.abs(other.db) - Math.abs(one.db));
}

/** A small difference with its sign: one decimal, or two where one would show nothing; never "-0.0". */
export function signed(db: number): string {
  const text = Math.abs(db).toFixed(Math.abs(db) < 0.095 ? 2 : 1);
  return Number(text) === 0 ? "0.0" : `${db > 0 ? "+" : "−"}${text}`;
}
