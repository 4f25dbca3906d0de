// Where a listener answers: a letter, or a value for every sound and attribute.
import { useState } from "preact/hooks";
import type { State, Trial } from "./Blind";

type Press = (what: "answer" | "finish" | "wish", message: object) => Promise<void>;

export function Choosing({ state, press }: { state: State; press: Press }) {
  const [busy, set_busy] = useState(false);
  const answer = async (label: string) => {
    set_busy(true);
    await press("answer", { label });
    set_busy(false);
  };
  return (
    <div class="row" role="group" aria-label="Answer">
      {["A", "B"].map((label) => (
        <button type="button" class="main" key={label} disabled={busy} onClick={() => void answer(label)}>
          {state.kind === "abx" ? `X is ${label}` : `I prefer ${label}`}
        </button>
      ))}
    </div>
  );
}

export function Rating({ state, trial, press }: { state: State; trial: Trial; press: Press }) {
  const [low, high] = state.scale;
  const given = (label: string, attribute: string) =>
    trial.answers.find((one) => one.label === label && one.attribute === attribute)?.value ?? null;
  const missing = trial.labels.length * state.attributes.length - trial.answers.length;
  return (
    <>
      <div class="scroll" tabIndex={0} role="region" aria-label="Ratings">
        <table>
          <thead>
            <tr>
              <th scope="col">sound</th>
              {state.attributes.map((attribute) => (
                <th scope="col" key={attribute}>
                  {attribute}
                </th>
              ))}
            </tr>
          </thead>
          <tbody>
            {trial.labels.map((label) => (
              <tr key={label}>
                <th scope="row">{label}</th>
                {state.attributes.map((attribute) => (
                  <td key={attribute}>
                    <Scale
                      name={`${label}, ${attribute}`}
                      low={low}
                      high={high}
                      value={given(label, attribute)}
                      rate={(value) => press("answer", { label, attribute, value })}
                    />
                  </td>
                ))}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <div class="row">
        <button type="button" class="main" disabled={missing > 0} onClick={() => void press("finish", {})}>
          {trial.number + 1 < trial.of ? "Next" : "Done"}
        </button>
        {missing > 0 && <span class="quietly">{missing} still to rate</span>}
      </div>
    </>
  );
}

interface ScaleProps {
  name: string;
  low: number;
  high: number;
  value: number | null;
  rate: (value: number) => Promise<void>;
}

function Scale({ name, low, high, value, rate }: ScaleProps) {
  const [moved, set_moved] = useState<number | null>(null);
  const shown = moved ?? value;
  return (
    <label class="field">
      <input
        type="range"
        aria-label={name}
        aria-valuetext={shown === null ? "not rated yet" : String(shown)}
        min={low}
        max={high}
        step={1}
        value={shown ?? (low + high) / 2}
        onInput={(event) => set_moved(Number(event.currentTarget.value))}
        onChange={(event) => void rate(Number(event.currentTarget.value)).then(() => set_moved(null))}
      />
      <output class="unit">{shown ?? "–"}</output>
    </label>
  );
}
