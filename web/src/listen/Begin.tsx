// The form that begins a session: who listens to what, where, and what is asked.
import { useState } from "preact/hooks";
import { send, words_of, type Complaint } from "./asking";
import { LevelsAtSeat, NOT_MEASURED, type Measured } from "./LevelsAtSeat";
import { Wrong, type Choices } from "./Listen";

export const KINDS: Record<string, string> = { abx: "ABX: is X A or B?", rating: "ratings", pairs: "pairs: which is preferred?" };
const SCALES: Record<string, string> = { "100": "0 to 100", "10": "1 to 10" };
const INCOMPLETE: Complaint = { what: "Not every speaker has its level.", where: "", cure: "Give the others, too, or choose “not measured”." };

const split = (text: string): string[] => text.split(",").map((one) => one.trim()).filter(Boolean);

export function Begin({ choices, changed }: { choices: Choices; changed: () => void }) {
  const [kind, set_kind] = useState("abx");
  const [real, set_real] = useState(false);
  const [candidates, set_candidates] = useState(choices.candidates.slice(0, 2).map((one) => one.file));
  const [clips, set_clips] = useState(choices.clips.slice(0, 1));
  const [seats, set_seats] = useState(choices.seats.slice(0, 1));
  const [speakers, set_speakers] = useState("");
  const [material, set_material] = useState("");
  const [levels, set_levels] = useState<Measured | null>(NOT_MEASURED); // null: begun, and not for every speaker
  const [busy, set_busy] = useState(false);
  const [wrong, set_wrong] = useState<Complaint | null>(null);
  const played = real ? (split(material).length ? split(material) : ["what the leader plays"]) : clips;
  const begin = async (form: HTMLFormElement) => {
    const data = new FormData(form);
    const text = (name: string) => String(data.get(name) ?? "");
    if (real && !levels) return set_wrong(INCOMPLETE);
    set_busy(true);
    set_wrong(null);
    try {
      await send("/listen/begin", {
        name: text("name"),
        kind,
        real,
        candidates: real ? split(speakers) : candidates,
        listeners: split(text("listeners")),
        clips: played,
        seats,
        trials: kind === "rating" ? 1 : Number(text("trials")),
        attributes: kind === "rating" ? split(text("attributes")) : [],
        scale: Number(text("scale")),
        repeat: kind === "rating" && data.has("repeat"),
        anchor: kind === "rating" && !real && data.has("anchor"),
        ...(real ? levels : {}),
      });
      changed();
    } catch (error) {
      set_wrong(words_of(error));
    }
    set_busy(false);
  };
  const titles = Object.fromEntries(choices.candidates.map((one) => [one.file, one.title]));
  return (
    <form
      onSubmit={(event) => {
        event.preventDefault();
        void begin(event.currentTarget);
      }}
    >
      <h3>Begin a session</h3>
      <div class="columns">
        <Text name="name" label="name" value="an evening" />
        <Asked label="kind">
          <select value={kind} onChange={(event) => set_kind(event.currentTarget.value)}>
            {options(KINDS, kind)}
          </select>
        </Asked>
        <Text name="listeners" label="listeners, with commas" value="listener 1" />
        <fieldset>
          <legend>speakers</legend>
          <label class="tick">
            <input type="checkbox" checked={real} onChange={(event) => set_real(event.currentTarget.checked)} /> real ones, connected by a leader
          </label>
        </fieldset>
      </div>
      <div class="columns">
        {real ? (
          <>
            <Asked label="speakers, with commas">
              <input type="text" value={speakers} autocomplete="off" onInput={(event) => set_speakers(event.currentTarget.value)} />
            </Asked>
            <Asked label="what is played, with commas">
              <input type="text" value={material} autocomplete="off" onInput={(event) => set_material(event.currentTarget.value)} />
            </Asked>
          </>
        ) : (
          <>
            <Ticks name="candidates" all={choices.candidates.map((one) => one.file)} words={titles} chosen={candidates} choose={set_candidates} />
            <Ticks name="clips" all={choices.clips} chosen={clips} choose={set_clips} />
          </>
        )}
        <Ticks name="seats" all={choices.seats} chosen={seats} choose={set_seats} />
        <div>
          {kind === "rating" ? (
            <>
              <Asked label="what is rated, with commas">
                <textarea name="attributes" rows={2} defaultValue="dialogue clarity, evenness, treble, spaciousness" />
              </Asked>
              <Asked label="scale">
                <select name="scale">{options(SCALES, "100")}</select>
              </Asked>
              <Tick name="repeat">hidden repeat</Tick>
              {!real && <Tick name="anchor">hidden anchor</Tick>}
            </>
          ) : (
            <Asked label={kind === "abx" ? "trials of each listener, fixed now" : "rounds of all pairs, fixed now"}>
              <input name="trials" type="number" min={1} max={200} defaultValue={kind === "abx" ? "16" : "2"} key={kind} required />
            </Asked>
          )}
          <p class="quietly">{turns(kind, played.length * seats.length)}</p>
        </div>
      </div>
      {real && <LevelsAtSeat speakers={split(speakers)} tell={set_levels} />}
      <div class="row">
        <button type="submit" class="main" disabled={busy || (choices.unsaved && !real)}>
          {busy ? "Making the sounds …" : "Begin"}
        </button>
        {choices.unsaved && !real && <span class="quietly">Save the designs first: a session plays what is on disk.</span>}
      </div>
      <Wrong complaint={wrong} />
    </form>
  );
}

/** What several clips and seats come to. */
function turns(kind: string, pairs: number): string {
  if (pairs < 2) return "";
  if (kind === "rating") return `Each listener has ${pairs} trials: every clip at every seat.`;
  return `Trials take turns through ${pairs} pairs of a clip and a seat; where trials are fewer, some are left out.`;
}

const options = (words: Record<string, string>, chosen: string) =>
  Object.entries(words).map(([value, told]) => (
    <option key={value} value={value} selected={value === chosen}>
      {told}
    </option>
  ));

function Asked({ label, children }: { label: string; children: preact.ComponentChildren }) {
  return (
    <label class="asked">
      {label} {children}
    </label>
  );
}

function Text({ name, label, value }: { name: string; label: string; value: string }) {
  return (
    <Asked label={label}>
      <input name={name} type="text" defaultValue={value} autocomplete="off" />
    </Asked>
  );
}

function Tick({ name, children }: { name: string; children: string }) {
  return (
    <label class="tick">
      <input type="checkbox" name={name} defaultChecked /> {children}
    </label>
  );
}

interface TicksProps {
  name: string;
  all: readonly string[];
  words?: Record<string, string>;
  chosen: readonly string[];
  choose: (chosen: string[]) => void;
}

function Ticks({ name, all, words, chosen, choose }: TicksProps) {
  return (
    <fieldset>
      <legend>{name}</legend>
      {all.map((one) => (
        <label class="tick" key={one}>
          <input
            type="checkbox"
            checked={chosen.includes(one)}
            onChange={(event) => {
              const on = event.currentTarget.checked;
              choose(all.filter((other) => (other === one ? on : chosen.includes(other))));
            }}
          />{" "}
          {words?.[one] ?? one.replace("listening/clips/", "")}
        </label>
      ))}
    </fieldset>
  );
}
