// The Voice panel: a goal, a search that is watched and stopped, its short list, and how sure and how loaded builds are.
import { Hint } from "../parts/Hint";
import { ask } from "../store";
import { Builds } from "./Builds";
import { Falling } from "./Falling";
import { GoalForm } from "./GoalForm";
import { Loads } from "./Loads";
import { Refused } from "./Refused";
import { ShortList } from "./ShortList";
import { goal, job_of, running, shown, stop } from "./state";
import looks from "./voice.css?url";

/** The panel, once its style sheet is there. */
export const dressed = new Promise<typeof Voice>((done) => {
  const sheet = document.createElement("link");
  sheet.rel = "stylesheet";
  sheet.href = looks;
  sheet.onload = sheet.onerror = () => done(Voice);
  document.head.append(sheet);
});

function Voice() {
  const data = shown.value;
  return (
    <section class="card voice" aria-labelledby="voice-title">
      <div class="card-head">
        <h2 id="voice-title">Voice: find the network</h2>
        <small>
          nothing is written over; all numbers: <a href="/voice.json">voice.json</a>
        </small>
      </div>
      <Hint
        name="voice"
        words="Start looks for parts that make it more even where you say; Try puts one of the networks found into the drawing, and Undo takes it back."
      />
      {data ? (
        <>
          <GoalForm />
          <Search />
          <Refused kind="voice" />
          <Falling />
          {data.found && <ShortList found={data.found} />}
          <Builds />
          <Loads />
        </>
      ) : (
        <p class="quietly">Reading the goal …</p>
      )}
    </section>
  );
}

function Search() {
  const at_work = running.value.includes("voice");
  const stopping = at_work && job_of("voice") === undefined;
  return (
    <p class="row" aria-live="polite">
      {at_work ? (
        <button type="button" disabled={stopping} onClick={() => stop("voice")}>
          Stop, and keep the best so far
        </button>
      ) : (
        <button type="button" class="main" onClick={() => ask("voice", { goal: goal.value })}>
          Start
        </button>
      )}
      <span class="quietly">{stopping ? "Judging what was found …" : at_work ? "Searching; the desk can be used meanwhile." : ""}</span>
    </p>
  );
}
