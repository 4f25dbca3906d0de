// Our own symbols as paths, drawn along x from 0 to LENGTH about y = 0; an upright part is turned by 90 degrees.
import type { PartKind } from "./series";

export const LENGTH = 34;
export const HALF_HEIGHT = 9;

/** Four turns, each a little more than half a circle, so that it reads as wire wound and not as a wave. */
function coil(): string {
  const turn = LENGTH / 4;
  return `M0 0 ${Array.from({ length: 4 }, () => `a${turn / 2} ${turn / 2 + 2} 0 0 1 ${turn} 0`).join(" ")}`;
}

const PLATE = LENGTH / 2 - 3;
const OTHER_PLATE = LENGTH / 2 + 3;

export interface Symbol {
  /** Lines of the symbol. */
  stroke: string;
  /** The body that is filled, or empty. */
  body: string;
  /** Where its own leads end, so that wires meet it without a gap. */
  from: number;
  to: number;
}

const BODY_HEIGHT = 7;

export const SYMBOLS: Record<PartKind, Symbol> = {
  coil: { stroke: coil(), body: "", from: 0, to: LENGTH },
  capacitor: {
    stroke: `M${PLATE} ${-HALF_HEIGHT}V${HALF_HEIGHT} M${OTHER_PLATE} ${-HALF_HEIGHT}V${HALF_HEIGHT}`,
    body: "",
    from: PLATE,
    to: OTHER_PLATE,
  },
  resistor: {
    stroke: "",
    body: `M0 ${-BODY_HEIGHT}H${LENGTH}V${BODY_HEIGHT}H0Z`,
    from: 0,
    to: LENGTH,
  },
};

/** A driver seen from the side: its magnet on the wire, its cone opening to the right; drawn about the middle. */
export const DRIVER = { magnet: "M-7 -9H6V9H-7Z", cone: "M6 -9L19 -19V19L6 9Z", half_height: 9, reach: 19 };

/** The common return: three bars that grow shorter, below the end of a wire. */
export const RETURN = "M-9 0H9 M-6 4H6 M-3 8H3";
