// The standard curves, and below them the directivity indices, each in its own strip.
import { computed } from "@preact/signals";
import { Chart, type ChartLine } from "../parts/Chart";
import type { Look } from "../parts/looks";
import { picture } from "../store";

const LEVELS: readonly [string, string, Look][] = [
  ["on axis", "on_axis_db", "now"],
  ["listening window", "listening_window_db", "way0"],
  ["early reflections", "early_reflections_db", "way1"],
  ["sound power", "sound_power_db", "way2"],
  ["estimated in room", "estimated_in_room_db", "other"],
];
const INDICES: readonly [string, string, Look][] = [
  ["directivity index", "directivity_index_db", "way2"],
  ["of early reflections", "early_reflections_directivity_index_db", "way1"],
];

function lines_of(which: readonly [string, string, Look][]): ChartLine[] {
  const now = picture.value;
  return which.map(([name, key, look]) => ({ name, look, values: now?.array(`curves.${key}`) ?? null }));
}

const levels = computed<ChartLine[]>(() => [
  ...lines_of(LEVELS),
  { name: "on axis, A", look: "kept", values: picture.value?.array("kept.curves.on_axis_db") ?? null },
]);
const indices = computed<ChartLine[]>(() => lines_of(INDICES));
const NOTHING = new Float32Array();
const frequency_hz = computed(() => picture.value?.frequency_hz ?? NOTHING);
const INDEX_RANGE: [number, number] = [-5, 20];

export function LevelCurves() {
  return (
    <Chart
      title="Standard curves"
      note="dB re 20 µPa at 1 m, 2.83 V"
      frequency_hz={frequency_hz.value}
      lines={levels.value}
      unit="dB"
      height={160}
    />
  );
}

export function IndexCurves() {
  return (
    <Chart
      title="Directivity indices"
      note="dB: listening window less sound power, and less early reflections"
      frequency_hz={frequency_hz.value}
      lines={indices.value}
      unit="dB"
      range={INDEX_RANGE}
      height={96}
    />
  );
}
