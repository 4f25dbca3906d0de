/** Where the reader looks: which orbit, which angle of it, and which hole is explained. */
import { signal } from "@preact/signals";
import { chosen_key } from "../store";
import type { OrbitName } from "./directions";

export const orbit = signal<OrbitName>("horizontal");
/** Whose levels the map shows: of the design as it is, of A, or of the candidate compared with. */
export const whose = signal<"" | "kept." | "other.">("");
/** The angle under the pointer or the keyboard's cross on the map; the frequency is the store's `cursor_hz`. */
export const angle_deg = signal<number | null>(null);
/** The seat whose hole is explained, as "placement / seat". */
export const opened = signal<string | null>(null);

/** Open the causes of a seat's hole, or close them; every desk then tells of this seat. */
export function open_hole(key: string): void {
  opened.value = opened.value === key ? null : key;
  if (opened.value) chosen_key.value = key;
}
