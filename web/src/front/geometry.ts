/** The front to scale: millimetres to pixels and back, whole millimetres, and the words written into the file. */
import { quantity_text } from "../parts/words";

export interface Size {
  width_mm: number;
  height_mm: number;
  depth_mm: number;
}

/** Where things lie in a picture of the front with the side of the cabinet beside it. */
export interface Layout {
  scale: number; // pixels a millimetre
  middle: { x: number; y: number }; // of the front
  front: { x: number; y: number; width: number; height: number };
  side: { x: number; y: number; width: number; height: number };
}

export interface Room {
  width: number;
  height: number;
  margin: number; // on all sides, for handles and sizes
  between: number; // from the front to the side
}

/** Fit the front and, to its right, the side into a picture; the larger the cabinet, the smaller the scale. */
export function layout(size: Size, room: Room): Layout {
  const wide = room.width - 2 * room.margin - room.between;
  const high = room.height - 2 * room.margin;
  const scale = Math.min(wide / (size.width_mm + size.depth_mm), high / size.height_mm);
  const width = size.width_mm * scale;
  const height = size.height_mm * scale;
  const depth = size.depth_mm * scale;
  const x = (room.width - width - room.between - depth) / 2;
  const y = (room.height - height) / 2;
  return {
    scale,
    middle: { x: x + width / 2, y: y + height / 2 },
    front: { x, y, width, height },
    side: { x: x + width + room.between, y, width: depth, height },
  };
}

/** Pixels of a place on the front: across to the listener"s right, up. */
export function to_pixels(at: Layout, across_mm: number, up_mm: number): { x: number; y: number } {
  return { x: at.middle.x + across_mm * at.scale, y: at.middle.y - up_mm * at.scale };
}

/** Whole millimetres; never -0, which would be written as "-0 mm". */
export const snapped = (mm: number): number => Math.round(mm) + 0;

/** A length as it stands in the file: tenths at most, a plain minus. */
export const length_text = (mm: number): string => quantity_text(mm, "mm", 1);

export const NUDGE_MM = 1;
export const LEAP_MM = 10;

/** How far a key moves a thing, [across, up]; null for keys that mean something else. */
export function nudge(key: string, shift: boolean): [number, number] | null {
  const step = shift ? LEAP_MM : NUDGE_MM;
  if (key === "ArrowLeft") return [-step, 0];
  if (key === "ArrowRight") return [step, 0];
  if (key === "ArrowUp") return [0, step];
  if (key === "ArrowDown") return [0, -step];
  return null;
}

/** A whole number of millimetres that a key press leads to: from 54.4, one up is 55 and one down 53. */
export function stepped(mm: number, by: number): number {
  if (by === 0) return mm;
  const whole = by > 0 ? Math.floor(mm + 1e-6) : Math.ceil(mm - 1e-6);
  return whole + by + 0;
}
