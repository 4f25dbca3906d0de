// What a search strives for: the brief's goal to begin with, every field free to be changed.
import { TextField } from "../parts/Fields";
import { goal, shown, want, type Goal } from "./state";
import { typed } from "./words";

type NumberKey = {
  [Key in keyof Goal]: Goal[Key] extends number | null ? Key : never;
}[keyof Goal];

interface FieldProps {
  name: NumberKey;
  label: string;
  unit?: string;
  least?: number;
  whole?: boolean;
  /** Must hold a number; else an empty field asks for nothing. */
  needed?: boolean;
}

function GoalField({ name, label, unit, least = 0, whole = false, needed = false }: FieldProps) {
  const value = goal.value?.[name];
  return (
    <TextField
      label={label}
      text={value === null || value === undefined ? "" : String(value)}
      width="4.6em"
      class="numeric"
      {...(unit ? { unit } : {})}
      onText={(text) => {
        const wanted = typed(text, least, whole);
        if (wanted === undefined || (needed && wanted === null)) return false;
        want({ [name]: wanted });
        return true;
      }}
    />
  );
}

function Tick({ label, checked, onTick }: { label: string; checked: boolean; onTick: (on: boolean) => void }) {
  return (
    <label class="tick">
      <input type="checkbox" checked={checked} onChange={(event) => onTick(event.currentTarget.checked)} />
      {label}
    </label>
  );
}

export function GoalForm() {
  const now = goal.value;
  const data = shown.value;
  if (!now || !data) return null;
  const seat = (name: string) => (on: boolean) =>
    want({ main_seats: data.seats.filter((one) => (one === name ? on : now.main_seats.includes(one))) });
  const order = (number: number) => (on: boolean) =>
    want({ orders: [1, 2, 3, 4].filter((one) => (one === number ? on : now.orders.includes(one))) });
  return (
    <div class="goal">
      <fieldset>
        <legend>What counts, by weight</legend>
        <GoalField name="seats" label="in the room" needed />
        <GoalField name="on_axis" label="on axis" needed />
        <GoalField name="listening_window" label="listening window" needed />
        <GoalField name="speech_coverage" label="speech to the sides" needed />
      </fieldset>
      <fieldset>
        <legend>In the room, at</legend>
        {data.seats.map((name) => (
          <Tick key={name} label={name} checked={now.main_seats.includes(name)} onTick={seat(name)} />
        ))}
        <GoalField name="slope_db_per_octave" label="slope" unit="dB per octave" least={-1e6} />
      </fieldset>
      <fieldset>
        <legend>What is kept; an empty field asks for nothing</legend>
        <GoalField name="lowest_impedance_ohm" label="impedance, at least" unit="Ω" least={0.001} />
        <GoalField name="lowest_level_db" label="level on axis, at least" unit="dB; empty: 1 dB less than now" least={-1e6} />
        <GoalField name="most_parts" label="parts, at most" least={1} whole />
        <GoalField name="most_cost" label="cost, at most" unit={data.currency} />
      </fieldset>
      <fieldset>
        <legend>Parts</legend>
        <span class="field">
          <label for="voice-values">series</label>
          <select id="voice-values" value={now.values} onChange={(event) => want({ values: event.currentTarget.value })}>
            {["E6", "E12", "E24"].map((name) => (
              <option key={name} value={name} selected={name === now.values}>
                {name}
              </option>
            ))}
          </select>
        </span>
        <Tick label="two may stand for one" checked={now.pairs} onTick={(pairs) => want({ pairs })} />
        {data.stock && <small>first from {data.stock}</small>}
      </fieldset>
      <details>
        <summary>How it searches</summary>
        <fieldset>
          <legend>Ladders of these orders in every way, in place of the network given</legend>
          {[1, 2, 3, 4].map((number) => (
            <Tick key={number} label={`order ${number}`} checked={now.orders.includes(number)} onTick={order(number)} />
          ))}
        </fieldset>
        <fieldset>
          <legend>What it may not do</legend>
          <Tick label="turn a way round" checked={now.keep_polarity} onTick={(keep_polarity) => want({ keep_polarity })} />
          <Tick label="leave parts out" checked={now.all_parts} onTick={(all_parts) => want({ all_parts })} />
          <Tick label="add parts" checked={now.no_more} onTick={(no_more) => want({ no_more })} />
        </fieldset>
        <fieldset>
          <legend>Chance</legend>
          <GoalField name="seed" label="seed: the same finds the same again" least={1} whole needed />
        </fieldset>
      </details>
      <button type="button" class="quiet" disabled={JSON.stringify(now) === JSON.stringify(data.goal)} onClick={() => (goal.value = data.goal)}>
        As the brief has it
      </button>
    </div>
  );
}
