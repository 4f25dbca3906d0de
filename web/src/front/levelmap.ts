/** From levels around an orbit to pixels, lines and back again. */
import { frequency_share } from "../parts/scales";
import { COLOURS, viridis_pixels } from "./viridis";

export const LOWEST_DB = -24;
export const HIGHEST_DB = 6;
export const STEP_DEG = 5;
/** The map reaches half a step beyond 180 degrees on both sides, so that each row of pixels sits on its angle. */
export const END_DEG = 180 + STEP_DEG / 2;
export const ANGLE_TICKS_DEG = [180, 120, 60, 0, -60, -120, -180];
const PIXELS = viridis_pixels();

/** Which of the 256 colours a level has; not a number is the darkest. */
export function colour_of(level_db: number): number {
  const share = (level_db - LOWEST_DB) / (HIGHEST_DB - LOWEST_DB);
  return share > 0 ? Math.min(COLOURS - 1, Math.round(share * (COLOURS - 1))) : 0;
}

/**
 * Paint levels [angle, frequency], angles rising to 180 degrees, into pixels with 180 degrees in the top row
 * and once more, as -180, in the bottom row. `pixels` holds (angles + 1) * frequencies.
 */
export function paint(level_db: Float32Array, frequencies: number, pixels: Uint32Array): void {
  const angles = level_db.length / frequencies;
  const scale = (COLOURS - 1) / (HIGHEST_DB - LOWEST_DB);
  for (let angle = 0; angle < angles; angle++) {
    let from = angle * frequencies;
    let to = (angles - 1 - angle) * frequencies;
    for (let band = 0; band < frequencies; band++, from++, to++) {
      const place = (level_db[from]! - LOWEST_DB) * scale + 0.5;
      pixels[to] = PIXELS[place >= COLOURS ? COLOURS - 1 : place > 0 ? place | 0 : 0]!;
    }
  }
  pixels.copyWithin(angles * frequencies, 0, frequencies);
}

/** Share of the height, from the top, at which an angle lies. */
export const down_share = (deg: number): number => (END_DEG - deg) / (2 * END_DEG);

export interface Spot {
  band: number;
  row: number;
}

/** Which band and which angle (row of the levels) lie nearest to a place on the map, both in shares. */
export function spot_at(across: number, down: number, bands: number, angles: number): Spot {
  const band = Math.min(bands - 1, Math.max(0, Math.floor(across * bands)));
  const row_from_top = Math.min(angles, Math.max(0, Math.floor(down * (angles + 1))));
  const row = angles - 1 - row_from_top;
  return { band, row: row < 0 ? angles - 1 : row }; // below -175 degrees lies 180 once more
}

/** Move a spot by bands and angles; bands stop at the ends, angles go round. */
export function moved(spot: Spot, bands: number, rows: number, size: { bands: number; rows: number }): Spot {
  return {
    band: Math.min(size.bands - 1, Math.max(0, spot.band + bands)),
    row: (((spot.row + rows) % size.rows) + size.rows) % size.rows,
  };
}

/**
 * Where the level has fallen by 6 dB on one side, as pieces of a line in pixels; `sign` is 1 for the positive
 * side and -1 for the other. Bands in which it never falls (180 degrees) leave a gap.
 */
export function beam_line(
  beam_deg: Float32Array,
  frequency_hz: Float32Array,
  sign: 1 | -1,
  box: { left: number; top: number; width: number; height: number },
): string[] {
  const pieces: string[] = [];
  let piece: string[] = [];
  const close = (): void => {
    if (piece.length > 1) pieces.push(piece.join(" "));
    piece = [];
  };
  for (let band = 0; band < beam_deg.length; band++) {
    const deg = beam_deg[band]!;
    if (!(deg < 180)) {
      close();
      continue;
    }
    const x = box.left + frequency_share(frequency_hz[band]!) * box.width;
    const y = box.top + down_share(sign * deg) * box.height;
    piece.push(`${x.toFixed(1)},${y.toFixed(1)}`);
  }
  close();
  return pieces;
}
