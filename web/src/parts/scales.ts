// Scales, ticks and colours: pure, tested, used by every picture.

export const FREQUENCY_TICKS: readonly number[] = [20, 50, 100, 200, 500, 1000, 2000, 5000, 10000, 20000];
export const LOWEST_HZ = 20;
export const HIGHEST_HZ = 20000;
export const JUDGED_HZ: readonly [number, number] = [200, 10000];

export function tick_label(hz: number): string {
  return hz >= 1000 ? `${hz / 1000}k` : `${hz}`;
}

/** Share of the frequency axis, 0 at 20 Hz and 1 at 20 kHz. */
export function frequency_share(hz: number): number {
  return Math.log(hz / LOWEST_HZ) / Math.log(HIGHEST_HZ / LOWEST_HZ);
}

export function frequency_at(share: number): number {
  return LOWEST_HZ * (HIGHEST_HZ / LOWEST_HZ) ** share;
}

/** Number of the band nearest in log frequency; bands ascend. */
export function nearest_band(frequency_hz: ArrayLike<number>, hz: number): number {
  let low = 0;
  let high = frequency_hz.length - 1;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((frequency_hz[middle] ?? 0) <= hz) low = middle;
    else high = middle;
  }
  const below = Math.abs(Math.log(hz / (frequency_hz[low] ?? hz)));
  const above = Math.abs(Math.log(hz / (frequency_hz[high] ?? hz)));
  return below <= above ? low : high;
}

/** An axis in whole fives that shows curves whole from 40 Hz to 16 kHz, at least `least` and at most `most` high. */
export function level_range(
  curves: readonly ArrayLike<number>[],
  frequency_hz: ArrayLike<number>,
  least = 25,
  most = 60,
): [number, number] {
  let highest = -Infinity;
  let lowest = Infinity;
  for (const curve of curves) {
    for (let band = 0; band < curve.length; band++) {
      const value = curve[band] ?? NaN;
      if (!Number.isFinite(value)) continue;
      const hz = frequency_hz[band] ?? 0;
      highest = Math.max(highest, value);
      if (hz >= 40 && hz <= 16000) lowest = Math.min(lowest, value);
    }
  }
  if (!Number.isFinite(highest) || !Number.isFinite(lowest)) return [-least, 0];
  const high = 5 * Math.ceil((highest + 1.5) / 5);
  const low = 5 * Math.floor((lowest - 1.5) / 5);
  return [Math.min(Math.max(low, high - most), high - least), high];
}

/** Ticks of a straight axis: steps of 1, 2 or 5 times a power of ten, at most `most` of them. */
export function straight_ticks(low: number, high: number, most: number): number[] {
  if (!(high > low)) return [low];
  const rough = (high - low) / Math.max(1, most);
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = ([1, 2, 5, 10].find((factor) => factor * power >= rough * 0.999) ?? 10) * power;
  const ticks: number[] = [];
  for (let index = Math.ceil(low / step - 1e-9); index <= Math.floor(high / step + 1e-9); index++) {
    ticks.push(Number((index * step).toPrecision(12)));
  }
  return ticks;
}

/** Ticks of an axis in degrees that reads well: multiples of 15, 30, 45, 90 or 180. */
export function degree_ticks(low: number, high: number, most: number): number[] {
  const step = [15, 30, 45, 90, 180].find((size) => (high - low) / size <= most) ?? 360;
  const ticks: number[] = [];
  for (let value = Math.ceil(low / step) * step; value <= high; value += step) ticks.push(value);
  return ticks;
}

export interface SpreadStep {
  below_db: number;
  label: string;
  fill: string;
  ink: string;
}

/** The five colours of a seat (cividis, entries 250, 190, 132, 74 and 12), the same as in the report. */
export const SPREAD_STEPS: readonly SpreadStep[] = [
  { below_db: 2.0, label: "under 2", fill: "#fce236", ink: "#000000" },
  { below_db: 2.5, label: "2 to 2.5", fill: "#baac6d", ink: "#000000" },
  { below_db: 3.0, label: "2.5 to 3", fill: "#807f78", ink: "#000000" },
  { below_db: 3.5, label: "3 to 3.5", fill: "#4d556c", ink: "#ffffff" },
  { below_db: Infinity, label: "3.5 or more", fill: "#002b62", ink: "#ffffff" },
];

/** The colour step of a spread, judged on the number as printed (one decimal). */
export function spread_step(spread_db: number): SpreadStep {
  const printed = Number(spread_db.toFixed(1));
  const last = SPREAD_STEPS[SPREAD_STEPS.length - 1] as SpreadStep;
  return SPREAD_STEPS.find((step) => printed < step.below_db) ?? last;
}
