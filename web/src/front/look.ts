/** Where the reader looks: which orbit, which angle of it, and which hole is explained. */
import { signal } from "@preact/signals";
import type { OrbitName } from "./directions";

export const orbit = signal<OrbitName>("horizontal");
/** The angle under the pointer or the keyboard's cross on the map; the frequency is the store's `cursor_hz`. */
export const angle_deg = signal<number | null>(null);
/** The seat whose hole is explained, as "placement / seat". */
export const opened = signal<string | null>(null);
