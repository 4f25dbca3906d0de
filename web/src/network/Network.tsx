// The Network desk: the crossover network as a drawing whose parts are changed where they stand.
import { head } from "../store";
import { Hint } from "../parts/Hint";
import { Charts } from "./Charts";
import { Details } from "./Details";
import { Schematic } from "./Schematic";
import { Voicing } from "./Voicing";
import { spoken } from "./state";
import "./network.css";

export function Network() {
  if (!head.value) return null;
  return (
    <>
      <Hint
        name="network"
        words="Choose a part, step its value with the up and down arrows or press Enter to type one; below it stands what one step up does to the spread of a seat."
      />
      <div class="desk network">
        <div class="columns">
          <Voicing />
          <section class="card" aria-label="Network">
            <Schematic />
            <p class="unseen" aria-live="polite">
              {spoken}
            </p>
            <Keys />
          </section>
          <Details />
        </div>
        <Charts />
      </div>
    </>
  );
}

const KEYS: readonly [string, string][] = [
  ["↑ ↓", "step through E24, with Shift E12"],
  ["Enter", "type a value"],
  ["A", "add beside"],
  ["B", "bypass"],
  ["Alt ← →", "move, with Shift the whole step"],
  ["P", "polarity"],
  ["W", "wiring, on its words"],
  ["Delete", "remove"],
];

function Keys() {
  return (
    <p class="keys">
      {KEYS.map(([key, words]) => (
        <span key={key}>
          <kbd>{key}</kbd> {words}
        </span>
      ))}
    </p>
  );
}
