// The chosen part in words and fields: its value, what else is known of it, what one step does at every seat.
import type { Way } from "../picture";
import { head } from "../store";
import { TextField } from "../parts/Fields";
import { shown, step_written, tidy_typed, type PartKind } from "./series";
import {
  adding,
  bypass,
  chosen_part,
  find_part,
  move,
  remove,
  step_value,
  value_now,
  write_extra,
  write_value,
} from "./state";
import { effects_of, key_of_path, move_part, signed, stands_in, type Placed } from "./tree";

interface Extra {
  key: string;
  label: string;
  hint: string;
}

const EXTRAS: Record<PartKind, readonly Extra[]> = {
  coil: [
    { key: "wire", label: "wire", hint: "1.0 mm" },
    { key: "dcr", label: "DCR", hint: "0.3 ohm" },
  ],
  capacitor: [{ key: "esr", label: "ESR", hint: "0.05 ohm" }],
  resistor: [{ key: "rating", label: "rating", hint: "10 W" }],
};
const PRICE: Extra = { key: "price", label: "price", hint: "4.10" };

export function Details() {
  const found = find_part(chosen_part.value);
  if (!found) {
    const any = head.value?.ways.some((way) => way.steps.length);
    return (
      <section class="card details" aria-labelledby="details-title">
        <h2 id="details-title">Chosen part</h2>
        <p class="quietly">
          {any
            ? "Choose a part in the drawing: its values and what one step of it does at every seat stand here."
            : "No way has a part yet: press a + on a rail to add the first one."}
        </p>
      </section>
    );
  }
  return <PartDetails key={chosen_part.value} placed={found.placed} way={found.way} />;
}

function PartDetails({ placed, way }: { placed: Placed; way: Way }) {
  const { part } = placed;
  return (
    <section class="card details" aria-labelledby="details-title">
      <div class="card-head">
        <h2 id="details-title">
          {part.label}, {part.part}
        </h2>
        <small>{place_words(placed)}</small>
      </div>
      <div class="details-body">
        <div>
          <Values placed={placed} />
          <Buttons placed={placed} way={way} />
        </div>
        <Effects placed={placed} />
      </div>
    </section>
  );
}

function place_words(placed: Placed): string {
  const among = { step: "", chain: ", in a chain", bank: ", in parallel" }[stands_in(placed)];
  return `way ${placed.way}, step ${Number(placed.path[3]) + 1}, ${placed.kind}${among}`;
}

function Values({ placed }: { placed: Placed }) {
  const { part } = placed;
  const typed_as = (text: string) => tidy_typed(text, part.part);
  const file = part.extras["part"];
  return (
    <p class="values">
      {part.value_path ? (
        <span class="stepped">
          <TextField
            label="value"
            text={value_now(part)}
            onText={(text) => write_value(placed, text)}
            onStep={(direction, shift, text) => step_written(typed_as(text), direction, shift ? "E12" : "E24")}
          />
          <button
            type="button"
            aria-label={`${part.label} one E24 step down`}
            onClick={() => step_value(placed, -1, "E24")}
          >
            −
          </button>
          <button
            type="button"
            aria-label={`${part.label} one E24 step up`}
            onClick={() => step_value(placed, 1, "E24")}
          >
            +
          </button>
        </span>
      ) : (
        <span>
          {shown(part.value)}, written in {String(file ?? "a file of its own")}
        </span>
      )}
      {part.value_path &&
        [...EXTRAS[part.part], PRICE].map(({ key, label }) => (
          <TextField
            key={key}
            label={label}
            text={String(part.extras[key] ?? "")}
            width="5.4em"
            onText={(text) => write_extra(placed, key, text)}
          />
        ))}
    </p>
  );
}

function Buttons({ placed, way }: { placed: Placed; way: Way }) {
  const { part } = placed;
  const beside = key_of_path(placed.path);
  const able = (by: 1 | -1) => move_part(placed, by, false, way) !== null;
  return (
    <p class="buttons">
      <button type="button" aria-pressed={part.bypassed} title="B" onClick={() => bypass(placed)}>
        Bypass
      </button>
      <button
        type="button"
        disabled={!able(-1)}
        title="Alt and left arrow"
        onClick={() => move(placed, -1, false, way)}
      >
        Earlier
      </button>
      <button type="button" disabled={!able(1)} title="Alt and right arrow" onClick={() => move(placed, 1, false, way)}>
        Later
      </button>
      <button
        type="button"
        title="A"
        onClick={() => (adding.value = { way: way.name, index: Number(placed.path[3]) + 1, beside })}
      >
        Add beside…
      </button>
      <button type="button" title="Delete" onClick={() => remove(placed, way)}>
        Remove
      </button>
    </p>
  );
}

/** What one step up of the value does to the spread at every seat, with a bar to each side of none. */
function Effects({ placed }: { placed: Placed }) {
  const { part } = placed;
  const effects = effects_of(part);
  const late = head.value?.full === false;
  if (part.bypassed)
    return (
      <p class="quietly">Bypassed: {placed.kind === "series" ? "a wire in its place" : "nothing in its place"}.</p>
    );
  if (!effects.length)
    return <p class="quietly">{late || part.step_effect === null ? "Trying one step up at every seat…" : ""}</p>;
  const next = step_written(value_now(part), 1, "E24");
  const largest = Math.max(0.1, ...effects.map(({ db }) => Math.abs(db)));
  return (
    <div class={late ? "late" : ""}>
      <h3>Spread, one step up{next ? ` to ${shown(next)}` : ""}</h3>
      <div class="bars" role="list">
        {effects.map(({ seat, db }) => (
          <div class="bar-row" role="listitem" key={seat}>
            <span>{seat}</span>
            <span class="track" aria-hidden="true">
              <i class="zero" style={{ left: "50%" }} />
              <i
                class={db > 0 ? "deepens" : "fills"}
                style={{ [db > 0 ? "left" : "right"]: "50%", width: `${(48 * Math.abs(db)) / largest}%` }}
              />
            </span>
            <span class="worth">{signed(db)} dB</span>
          </div>
        ))}
      </div>
    </div>
  );
}
