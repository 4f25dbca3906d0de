// What parts bear: volts, amperes and watts of every part, what gives out first, what gets hot.
import { useSignal } from "@preact/signals";
import { TextField } from "../parts/Fields";
import { quantity } from "../parts/words";
import { ask } from "../store";
import { Bars, type Bar } from "./Bars";
import { Refused } from "./Refused";
import { running, shown, stop, type Stress } from "./state";
import { set_units, typed } from "./words";

export function Loads() {
  const volts = useSignal<number | null>(null);
  const at_work = running.value.includes("stress");
  const result = shown.value?.stress;
  const now = volts.value ?? shown.value?.voltage_v ?? 10;
  return (
    <section aria-labelledby="stress-title">
      <h3 id="stress-title">Stress: what parts bear</h3>
      <p class="row">
        <TextField
          label="programme noise of"
          unit="V"
          text={String(now)}
          class="numeric"
          onText={(text) => {
            const value = typed(text, 0.001, false);
            if (!value) return false;
            volts.value = value;
            return true;
          }}
        />
        {at_work ? (
          <button type="button" onClick={() => stop("stress")}>
            Stop loading
          </button>
        ) : (
          <button type="button" onClick={() => ask("stress", { voltage_v: now })}>
            Load it
          </button>
        )}
      </p>
      <Refused kind="stress" />
      {result && (
        <div class={at_work ? "late" : ""}>
          <p>
            <b>{result.title}</b>
            {result.words && `: ${set_units(result.words)}`}. {capital(set_units(result.stress.amplifier))}.
          </p>
          {result.stale && <p class="stale">The design has changed since: load it again.</p>}
          {result.stress.heat.map((words) => (
            <p key={words} class="hot">▲ {set_units(words)}</p>
          ))}
          <Limits stress={result.stress} />
        </div>
      )}
      <p class="quietly caution">{shown.value?.caution}</p>
    </section>
  );
}

const FAR = 8; // times the level at which the first gives out, up to which a bar is drawn

const capital = (words: string): string => words.charAt(0).toUpperCase() + words.slice(1);

function Limits({ stress }: { stress: Stress }) {
  const all = limits_of(stress);
  const bars = all.filter(({ value }) => value <= FAR * (all[0]?.value ?? 0));
  return (
    <Bars
      title="What gives out at which level"
      note={`volts of programme noise${bars.length < all.length ? `; what bears over ${FAR} times the first is in the table` : ""}`}
      bars={bars}
      table={() => ({
        heads: ["part or driver", "volts (peak)", "amperes (peak)", "watts", "moves", "gives out at"],
        rows: [
          ...stress.parts.map((part) => [
            set_units(part.name),
            `${part.volts_v.toFixed(1)} (${part.peak_v.toFixed(0)})`,
            `${part.amperes_a.toFixed(2)} (${part.peak_a.toFixed(1)})`,
            Math.max(part.power_w, 0).toFixed(2),
            "",
            part.gives_out_v === null ? "no rating" : quantity(part.gives_out_v, "V"),
          ]),
          ...stress.drivers.map((driver) => [
            driver.name,
            driver.volts_v.toFixed(1),
            "",
            driver.power_w.toFixed(2),
            quantity(1e3 * driver.peak_m, "mm", 2),
            [driver.excursion_v, driver.thermal_v].flatMap((volts, index) => (volts === null ? [] : [`${quantity(volts, "V")} (${index ? "power" : "Xmax"})`])).join(", "),
          ]),
        ],
      })}
    />
  );
}

function limits_of({ parts, drivers }: Stress): Bar[] {
  const found = [
    ...parts.map(({ name, gives_out_v, limit }) => [`${name}, ${limit}`, gives_out_v] as const),
    ...drivers.flatMap(({ name, thermal_v, excursion_v }) => [[`${name}, its Xmax`, excursion_v] as const, [`${name}, its power`, thermal_v] as const]),
  ];
  return found
    .flatMap(([name, value]) => (value === null ? [] : [{ name: set_units(name), value, words: quantity(value, "V") }]))
    .sort((one, other) => one.value - other.value);
}
