// What the network does: volts at the drivers, each way's level and the sum, and what the amplifier sees.
import { useEffect, useMemo, useRef } from "preact/hooks";
import type { Picture, PictureHead } from "../picture";
import { marked, picture } from "../store";
import { Chart, type ChartLine } from "../parts/Chart";
import { way_look } from "../parts/looks";
import { straight_ticks } from "../parts/scales";
import { frequency, quantity } from "../parts/words";

const HEIGHT = 132;

export function Charts() {
  const now = picture.value;
  if (!now) return null;
  return (
    <div class="columns">
      <section class="card">
        <Acoustic now={now} />
      </section>
      <section class="card">
        <Voltage now={now} />
      </section>
      <Impedance now={now} />
    </div>
  );
}

function of_ways(now: Picture, array: string): ChartLine[] {
  return now.head.ways.map((way, index) => ({ name: way.name, values: now.row(array, index), look: way_look(index) }));
}

/** Lines a range must show: the highest and some way below it; ways fall for ever and would flatten everything. */
function range_under(lines: readonly ChartLine[], span: number): [number, number] {
  let highest = -Infinity;
  for (const { values } of lines) for (const value of Array.from(values ?? [])) highest = Math.max(highest, value);
  const top = Number.isFinite(highest) ? 5 * Math.ceil((highest + 1) / 5) : 0;
  return [top - span, top];
}

function Acoustic({ now }: { now: Picture }) {
  const lines: ChartLine[] = [
    ...of_ways(now, "way.acoustic_db"),
    { name: "sum, A", values: now.array("kept.curves.on_axis_db"), look: "kept" },
    { name: other_name(now.head), values: now.array("other.curves.on_axis_db"), look: "other" },
    { name: "sum", values: now.array("sum.acoustic_db"), look: "sum" },
  ];
  return (
    <Chart
      title="Level on axis"
      note="dB at 1 m, 2.83 V"
      frequency_hz={now.frequency_hz}
      lines={lines}
      unit="dB"
      range={range_under(lines, 40)}
      height={170}
    />
  );
}

const other_name = (head: PictureHead): string =>
  head.candidates.find(({ file }) => file === head.other)?.title ?? "compared";

function Voltage({ now }: { now: Picture }) {
  const lines = of_ways(now, "way.voltage_db");
  return (
    <Chart
      title="Voltage at the drivers"
      note="dB re the terminals"
      frequency_hz={now.frequency_hz}
      lines={lines}
      unit="dB"
      range={range_under(lines, 40)}
      height={HEIGHT}
    />
  );
}

/** As IEC 60268-5 has it, the impedance may nowhere fall below four fifths of the rated one. */
const LOWEST_SHARE = 0.8;

function Impedance({ now }: { now: Picture }) {
  const { impedance_minimum: least, rated_impedance_ohm: rated } = now.head;
  const magnitude = now.array("impedance.magnitude_ohm");
  const kept = now.array("kept.impedance.magnitude_ohm");
  const range = useMemo(() => ohm_range([magnitude, kept]), [magnitude, kept]);
  const rules = rated ? [{ value: LOWEST_SHARE * rated, words: "" }] : [];
  // A finding about the rated impedance points at no way: it means this picture.
  const is_marked = marked.value?.desk === "network" && marked.value.target === "";
  const place = useRef<HTMLElement>(null);
  useEffect(() => {
    if (is_marked) place.current?.scrollIntoView({ block: "center" });
  }, [is_marked]);
  return (
    <section ref={place} class={is_marked ? "card marked" : "card"}>
      <Chart
        title="Impedance"
        note={`least ${quantity(least.ohm, "Ω", 1)} at ${frequency(least.hz)}; ${rated_words(rated)}`}
        frequency_hz={now.frequency_hz}
        lines={[
          { name: "A", values: kept, look: "kept" },
          { name: "now", values: magnitude, look: "now" },
        ]}
        unit="Ω"
        digits={1}
        range={range}
        rules={rules}
        marks={[{ hz: least.hz, value: least.ohm, look: "now" }]} // in words above, where no curve runs through them
        height={HEIGHT}
      />
      <Chart
        title="Impedance phase"
        note="degrees"
        frequency_hz={now.frequency_hz}
        lines={[
          { name: "A", values: now.array("kept.impedance.phase_deg"), look: "kept" },
          { name: "now", values: now.array("impedance.phase_deg"), look: "now" },
        ]}
        unit="°"
        digits={0}
        range={[-90, 90]}
        degrees
        height={100}
      />
    </section>
  );
}

const rated_words = (rated: number | null): string =>
  rated ? `dashed: 80 % of the rated ${quantity(rated, "Ω", Number.isInteger(rated) ? 0 : 1)}` : "of the whole speaker";

/** From 0 to a round number above the highest, so that the axis stands still while a value is stepped. */
function ohm_range(curves: readonly (Float32Array | null)[]): [number, number] {
  let highest = 8;
  for (const curve of curves) for (const value of Array.from(curve ?? [])) highest = Math.max(highest, value);
  const ticks = straight_ticks(0, 1.05 * highest, 4);
  const step = (ticks[1] ?? 5) - (ticks[0] ?? 0);
  return [0, step * Math.ceil((1.02 * highest) / step)];
}
