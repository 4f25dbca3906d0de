// How sure builds are: thousands of random ones, what spoils most, and what a truer part would buy.
import { useSignal } from "@preact/signals";
import { TextField } from "../parts/Fields";
import { quantity } from "../parts/words";
import { ask } from "../store";
import { Bars } from "./Bars";
import { Refused } from "./Refused";
import { running, shown, stop, type Spoiler } from "./state";
import { percent, set_units, typed } from "./words";

const SHOWN = 8;

export function Builds() {
  const builds = useSignal(5000);
  const within_db = useSignal(1.5);
  const normal = useSignal(false);
  const one_batch = useSignal(false);
  const at_work = running.value.includes("builds");
  const result = shown.value?.builds;
  const start = () => {
    ask("builds", { builds: builds.value, within_db: within_db.value, normal: normal.value, one_batch: one_batch.value });
  };
  return (
    <section aria-labelledby="builds-title">
      <h3 id="builds-title">Tolerance: how sure are builds</h3>
      <p class="row">
        <TextField
          label="builds"
          text={String(builds.value)}
          class="numeric"
          onText={(text) => {
            const value = typed(text, 1, true);
            if (!value || value > 20_000) return false;
            builds.value = value;
            return true;
          }}
        />
        <TextField
          label="good within"
          unit="dB"
          text={String(within_db.value)}
          class="numeric"
          onText={(text) => {
            const value = typed(text, 0.001, false);
            if (!value) return false;
            within_db.value = value;
            return true;
          }}
        />
        <label class="tick">
          <input type="checkbox" checked={normal.value} onChange={(event) => (normal.value = event.currentTarget.checked)} />
          normal, not even
        </label>
        <label class="tick">
          <input type="checkbox" checked={one_batch.value} onChange={(event) => (one_batch.value = event.currentTarget.checked)} />
          drivers of one batch
        </label>
        {at_work ? (
          <button type="button" onClick={() => stop("builds")}>
            Stop building
          </button>
        ) : (
          <button type="button" onClick={start}>
            Build it many times
          </button>
        )}
      </p>
      <Refused kind="builds" />
      {result && (
        <div class={at_work ? "late" : ""}>
          <p>
            <b>{result.title}</b>: {set_units(result.words)}. <small>{result.drawn}</small>
          </p>
          {result.stale && <p class="stale">The design has changed since: build again.</p>}
          <Spoilers spoilers={result.yield.spoilers} />
        </div>
      )}
    </section>
  );
}

function Spoilers({ spoilers }: { spoilers: readonly Spoiler[] }) {
  if (!spoilers.length) return null;
  const truer = spoilers.filter(({ tighter_db }) => tighter_db !== null);
  return (
    <>
      <Bars
        title="What spoils most"
        note="how far it alone moves the curve, dB"
        bars={spoilers.slice(0, SHOWN).map(({ what, moves_db }) => ({ name: set_units(what), value: moves_db, words: quantity(moves_db, "dB", 2) }))}
        table={() => ({
          heads: ["what", "off by", "moves", "half as far off: 95 % within", "and good then"],
          rows: spoilers.map(({ what, off, moves_db, tighter, tighter_db }) => [
            set_units(what),
            `${(100 * off).toFixed(0)} %`,
            quantity(moves_db, "dB", 2),
            tighter_db === null ? "" : quantity(tighter_db, "dB", 2),
            tighter === null ? "" : percent(tighter),
          ]),
        })}
      />
      {truer.map(({ what, tighter, tighter_db }) => (
        <p key={what} class="quietly">
          Half the tolerance of {set_units(what)}: 95 % stay within {quantity(tighter_db ?? 0, "dB", 2)}, {percent(tighter ?? 0)} are good.
        </p>
      ))}
    </>
  );
}
