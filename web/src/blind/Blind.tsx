// One listener, one trial at a time: hear, switch, answer; every press is in the file before the page says so.
import { useEffect, useState } from "preact/hooks";
import { bytes, read, send, words_of, type Complaint } from "../listen/asking";
import { buffer_of, Player } from "../listen/player";
import { PlayerBar } from "../listen/PlayerBar";
import { Choosing, Rating } from "./Answers";
import { Said } from "./Said";

export interface Given {
  label: string;
  attribute: string;
  value: number | null;
}

export interface Trial {
  number: number;
  of: number;
  labels: string[];
  programme: string;
  sounds: string[] | null;
  samples: number;
  rate_hz: number;
  answers: Given[];
  wished: string | null;
  plays: string | null;
}

export interface State {
  name: string;
  kind: "abx" | "rating" | "pairs";
  listeners: string[];
  attributes: string[];
  scale: [number, number];
  real: boolean;
  closed: boolean;
  ready: boolean;
  trouble: Complaint | null;
  left: number[];
  trial: Trial | null;
}

const SOON_MS = 400;
const CAUTION = "Playback begins quiet. Turn it up slowly, and stop when it is too loud: loud sound harms hearing.";
const REAL_CAUTION = "Say at once when it is too loud: loud sound harms hearing.";

export function Blind({ id }: { id: string }) {
  const kept = Number(sessionStorage.getItem(id) ?? "-1");
  const [listener, set_listener] = useState(kept);
  const [state, set_state] = useState<State | null>(null);
  const [wrong, set_wrong] = useState<Complaint | null>(null);
  const [saved, set_saved] = useState("");
  const look = (): Promise<void> =>
    read<State>(`/blind/${id}.json?listener=${listener}`).then(
      (found) => (set_state(found), set_wrong(found.trouble)),
      (error: unknown) => set_wrong(words_of(error)),
    );
  useEffect(() => void look(), [listener]);
  const waits = state !== null && !state.closed && !state.trouble && (!state.ready || (state.real && listener >= 0));
  useEffect(() => {
    if (!waits) return;
    const timer = setInterval(() => void look(), SOON_MS);
    return () => clearInterval(timer);
  }, [waits, listener]);
  /** Send a press; what could not be saved is said, and stays to be pressed again. */
  const press = async (what: "answer" | "finish" | "wish", message: object): Promise<void> => {
    set_saved("");
    try {
      await send(`/blind/${id}/${what}`, { listener, trial: state?.trial?.number ?? 0, ...message });
      set_wrong(null);
      if (what !== "wish") set_saved("saved");
      await look();
    } catch (error) {
      set_wrong(words_of(error));
    }
  };
  const choose = (index: number) => {
    sessionStorage.setItem(id, String(index));
    set_listener(index);
  };
  return (
    <>
      <header>
        <h1>{state?.name ?? "Listening session"}</h1>
        <span role="status" class="quietly">
          {saved}
        </span>
      </header>
      <main class="desk">
        <Said complaint={wrong} again={look} />
        {state && <Body id={id} state={state} listener={listener} choose={choose} press={press} />}
      </main>
    </>
  );
}

interface BodyProps {
  id: string;
  state: State;
  listener: number;
  choose: (index: number) => void;
  press: (what: "answer" | "finish" | "wish", message: object) => Promise<void>;
}

function Body({ id, state, listener, choose, press }: BodyProps) {
  if (state.closed) return <p class="card">This session is closed. Thank you; who led it can tell what was heard.</p>;
  if (!(listener >= 0 && listener < state.listeners.length)) return <Who state={state} choose={choose} />;
  if (!state.ready) return <p class="card quietly">The sounds are being made …</p>;
  if (!state.trial)
    return (
      <div class="card">
        <p>All answered, {state.listeners[listener]}. Thank you.</p>
        <button type="button" onClick={() => choose(-1)}>
          Another listener
        </button>
      </div>
    );
  return <Hearing key={`${listener} ${state.trial.number}`} id={id} state={state} trial={state.trial} press={press} />;
}

function Who({ state, choose }: { state: State; choose: (index: number) => void }) {
  return (
    <section class="card">
      <h2>Who listens?</h2>
      <div class="row">
        {state.listeners.map((name, index) => (
          <button type="button" key={name} disabled={state.left[index] === 0} onClick={() => choose(index)}>
            {name}
            {state.left[index] === 0 ? ", done" : ""}
          </button>
        ))}
      </div>
    </section>
  );
}

const QUESTIONS = {
  abx: "One of A and B is X. Which?",
  pairs: "Which do you prefer?",
  rating: "Rate every sound.",
};

interface HearingProps {
  id: string;
  state: State;
  trial: Trial;
  press: BodyProps["press"];
}

function Hearing({ id, state, trial, press }: HearingProps) {
  const [chosen, set_chosen] = useState(0);
  const [loaded, set_loaded] = useState(false);
  const [wrong, set_wrong] = useState<Complaint | null>(null);
  const player = usePlayer(trial.rate_hz);
  const load = async () => {
    try {
      const { context } = player;
      const wanted = trial.sounds ?? [];
      const made = await Promise.all(wanted.map(async (name) => buffer_of(context, await bytes(`/blind/${id}/sound/${name}`), trial.rate_hz)));
      player.player.load(made);
      player.player.choose(0);
      set_loaded(made.length > 0);
      set_wrong(null);
    } catch (error) {
      set_wrong(words_of(error));
    }
  };
  useEffect(() => {
    if (!state.real && !loaded) void load();
  }, [trial.sounds?.join(" ")]); // after a restart the same sounds have other names
  const choose = (index: number) => {
    set_chosen(index);
    if (state.real) void press("wish", { label: trial.labels[index] });
    else player.player.choose(index);
  };
  useEffect(() => {
    const key = (event: KeyboardEvent) => {
      const index = trial.labels.indexOf(event.key.toUpperCase());
      const typing = event.target instanceof HTMLInputElement && event.target.type !== "range";
      if (index >= 0 && !typing && !event.ctrlKey && !event.metaKey && !event.altKey) choose(index);
    };
    addEventListener("keydown", key);
    return () => removeEventListener("keydown", key);
  });
  return (
    <section class="card">
      <h2>
        Trial {trial.number + 1} of {trial.of} <small>{trial.programme}</small>
      </h2>
      <p>
        <b class="check">▲ caution</b> {state.real ? REAL_CAUTION : CAUTION}
      </p>
      <Said complaint={wrong} again={load} pressed />
      {!state.real && <PlayerBar player={player.player} ready={loaded} wake={player.wake} />}
      <div class="row" role="group" aria-label={`What is heard; keys ${trial.labels.join(", ")} switch`}>
        {trial.labels.map((label, index) => (
          <button type="button" key={label} aria-pressed={state.real ? trial.plays === label : index === chosen} onClick={() => choose(index)}>
            {state.real ? `Ask for ${label}` : `Hear ${label}`}
          </button>
        ))}
      </div>
      {state.real && <p role="status">{connected(trial)}</p>}
      <h3>{QUESTIONS[state.kind]}</h3>
      {state.kind === "rating" ? <Rating state={state} trial={trial} press={press} /> : <Choosing state={state} press={press} />}
    </section>
  );
}

function connected(trial: Trial): string {
  if (trial.plays) return `${trial.plays} is connected.`;
  return trial.wished ? `The leader is asked for ${trial.wished}.` : "Ask the leader for a sound.";
}

/** One player for the page, made when it is first needed. */
let shared: { context: AudioContext; player: Player } | null = null;

function usePlayer(rate_hz: number): { context: AudioContext; player: Player; wake: () => Player } {
  if (!shared) {
    const context = new AudioContext({ sampleRate: rate_hz });
    shared = { context, player: new Player(context) };
  }
  const { context, player } = shared;
  const wake = (): Player => {
    void context.resume();
    return player;
  };
  return { context, player, wake };
}
