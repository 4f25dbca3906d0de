// What the server asks or refuses, and a lost connection: bars in the page, never a dialog of the browser.
import { typeset } from "../parts/words";
import { ask, asked, ever_online, online, refused } from "../store";

export function Messages() {
  return (
    <div aria-live="polite">
      {!online.value && ever_online.value && (
        <div class="bar check">
          <p>The connection to forehear is lost; it is tried again. What you change meanwhile is sent as soon as it is back.</p>
        </div>
      )}
      <Question />
      {refused.value && (
        <div class="bar stops" role="alert">
          <p>
            {typeset(refused.value.what)}
            {refused.value.where && <small> {refused.value.where}</small>}
            {refused.value.cure && <> Cure: {typeset(refused.value.cure)}.</>}
          </p>
          <button type="button" onClick={() => (refused.value = null)}>
            Put away
          </button>
        </div>
      )}
    </div>
  );
}

function Question() {
  const question = asked.value;
  if (!question) return null;
  const answer = (what: string | null) => () => {
    asked.value = null;
    if (what) ask(what);
  };
  const files = Array.isArray(question["files"]) ? question["files"].filter((name) => typeof name === "string") : [];
  const file = files.length ? files.join(" and ") : "this design";
  if (question.question === "kept aside") {
    return (
      <div class="bar news">
        <p>Work on {file} that was not saved last time was kept aside. Take it back?</p>
        <button type="button" class="main" onClick={answer("restore")}>
          Take it back
        </button>
        <button type="button" onClick={answer("forget")}>
          Forget it
        </button>
      </div>
    );
  }
  return (
    <div class="bar check">
      <p>{file} changed on disk since it was read here. Nothing was overwritten.</p>
      <button type="button" onClick={answer("reload")}>
        Take the file from disk
      </button>
      <button type="button" onClick={answer("save anyway")}>
        Save mine over it
      </button>
      <button type="button" onClick={answer(null)}>
        Decide later
      </button>
    </div>
  );
}
