// Sessions of the folder: begin one, open it, close it, see what was heard.
import { useState } from "preact/hooks";
import { send, words_of, type Complaint } from "./asking";
import { Choice, Wrong, type Choices } from "./Listen";

export interface SessionRow {
  id: string;
  trouble?: string;
  name: string;
  kind: string;
  begun: string;
  done: number;
  of: number;
  real: boolean;
  closed: boolean;
  leader: string | null;
  why: string;
}

const KINDS: Record<string, string> = { abx: "ABX: is X A or B?", rating: "ratings", pairs: "pairs: which is preferred?" };

export function Sessions({ choices, changed }: { choices: Choices; changed: () => void }) {
  return (
    <section class="card" aria-labelledby="sessions-title">
      <h2 id="sessions-title">Blind sessions</h2>
      <p class="quietly">
        Listeners compare sounds without knowing which is which. Every press is saved; nothing is told until the session is closed.
      </p>
      {choices.sessions.length > 0 && <List rows={choices.sessions} changed={changed} />}
      <Begin choices={choices} changed={changed} />
    </section>
  );
}

function List({ rows, changed }: { rows: readonly SessionRow[]; changed: () => void }) {
  const [wrong, set_wrong] = useState<Complaint | null>(null);
  const [sure, set_sure] = useState<string | null>(null);
  const close = (row: SessionRow) => {
    if (row.done < row.of && sure !== row.id) return set_sure(row.id);
    set_sure(null);
    send("/listen/close", { id: row.id }).then(changed, (error: unknown) => set_wrong(words_of(error)));
  };
  return (
    <>
      <Wrong complaint={wrong} />
      <table>
        <thead>
          <tr>
            {["session", "kind", "begun", "answered", ""].map((words) => (words ? <th scope="col" key={words}>{words}</th> : <td key="last" />))}
          </tr>
        </thead>
        <tbody>
          {rows.map((row) =>
            row.trouble ? (
              <tr key={row.id}>
                <th scope="row">{row.id}</th>
                <td colSpan={4}>{row.trouble}</td>
              </tr>
            ) : (
              <tr key={row.id}>
                <th scope="row">
                  {row.name} {row.why && <small>{row.why}</small>}
                </th>
                <td>{KINDS[row.kind]}</td>
                <td>{row.begun}</td>
                <td>
                  {row.done} of {row.of}
                </td>
                <td>
                  {row.closed ? (
                    <a href={`/results/${row.id}`} target="_blank">
                      What was heard
                    </a>
                  ) : (
                    <>
                      <a href={`/blind/${row.id}`} target="_blank">
                        Open for listeners
                      </a>{" "}
                      {row.leader && (
                        <a href={`/leader/${row.id}?key=${row.leader}`} target="_blank">
                          Leader’s page
                        </a>
                      )}{" "}
                      <button type="button" class="quiet" onClick={() => close(row)}>
                        {sure === row.id ? "Stop early and tell all?" : "Close and tell"}
                      </button>
                    </>
                  )}
                </td>
              </tr>
            ),
          )}
        </tbody>
      </table>
    </>
  );
}

const split = (text: string): string[] => text.split(",").map((one) => one.trim()).filter(Boolean);

function Begin({ choices, changed }: { choices: Choices; changed: () => void }) {
  const [kind, set_kind] = useState("abx");
  const [real, set_real] = useState(false);
  const [clip, set_clip] = useState(choices.clips[0] ?? "");
  const [seat, set_seat] = useState(choices.seats[0] ?? "");
  const [scale, set_scale] = useState("0 to 100");
  const [busy, set_busy] = useState(false);
  const [wrong, set_wrong] = useState<Complaint | null>(null);
  const begin = async (form: HTMLFormElement) => {
    const data = new FormData(form);
    const text = (name: string) => String(data.get(name) ?? "");
    const names = real ? split(text("speakers")) : data.getAll("candidate").map(String);
    const levels = split(text("levels")).map(Number);
    set_busy(true);
    set_wrong(null);
    try {
      await send("/listen/begin", {
        name: text("name"),
        kind,
        real,
        candidates: names,
        listeners: split(text("listeners")),
        clips: [real ? text("material") || "what the leader plays" : clip],
        seats: [seat],
        trials: kind === "rating" ? 1 : Number(text("trials")),
        attributes: kind === "rating" ? split(text("attributes")) : [],
        scale: scale === "1 to 10" ? 10 : 100,
        repeat: kind === "rating" && data.has("repeat"),
        anchor: kind === "rating" && !real && data.has("anchor"),
        levels_db: real && levels.length ? levels : null,
      });
      changed();
    } catch (error) {
      set_wrong(words_of(error));
    }
    set_busy(false);
  };
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        void begin(event.currentTarget);
      }}
    >
      <h3>Begin a session</h3>
      <div class="row">
        <Text name="name" label="name" value="an evening" />
        <Choice name="kind" value={kind} all={Object.keys(KINDS)} words={KINDS} choose={set_kind} />
        <label>
          <input type="checkbox" checked={real} onChange={(event) => set_real(event.currentTarget.checked)} /> real speakers, connected by a leader
        </label>
        <Text name="listeners" label="listeners, with commas" value="listener 1" wide />
      </div>
      <div class="row">
        {real ? (
          <>
            <Text name="speakers" label="speakers, with commas" value="" wide />
            <Text name="levels" label="level of each at the seat, dB, with commas; empty: not measured" value="" wide />
            <Text name="material" label="what is played" value="" />
          </>
        ) : (
          <>
            {choices.candidates.map(({ file, title }, index) => (
              <label key={file}>
                <input type="checkbox" name="candidate" value={file} defaultChecked={index < 2} /> {title}
              </label>
            ))}
            <Choice name="clip" value={clip} all={choices.clips} choose={set_clip} />
          </>
        )}
        <Choice name="seat" value={seat} all={choices.seats} choose={set_seat} />
      </div>
      <div class="row">
        {kind === "rating" ? (
          <>
            <Text name="attributes" label="what is rated, with commas" value="dialogue clarity, evenness, treble, spaciousness" wide />
            <Choice name="scale" value={scale} all={["0 to 100", "1 to 10"]} choose={set_scale} />
            <label>
              <input type="checkbox" name="repeat" defaultChecked /> hidden repeat
            </label>
            {!real && (
              <label>
                <input type="checkbox" name="anchor" defaultChecked /> hidden anchor
              </label>
            )}
          </>
        ) : (
          <label class="field numeric">
            {kind === "abx" ? "trials of each listener, fixed now" : "rounds of all pairs, fixed now"}
            <input name="trials" type="number" min={1} max={200} defaultValue={kind === "abx" ? "16" : "2"} key={kind} required />
          </label>
        )}
        <button type="submit" class="main" disabled={busy || (choices.unsaved && !real)}>
          {busy ? "Making the sounds …" : "Begin"}
        </button>
        {choices.unsaved && !real && <span class="quietly">Save the designs first: a session plays what is on disk.</span>}
      </div>
      <Wrong complaint={wrong} />
    </form>
  );
}

function Text({ name, label, value, wide }: { name: string; label: string; value: string; wide?: boolean }) {
  return (
    <label class="field">
      {label} <input name={name} type="text" defaultValue={value} size={wide ? 40 : 16} autocomplete="off" />
    </label>
  );
}
