// The Listen desk: candidates as they would sound at a seat, and sessions that compare them blind.
import { useEffect, useRef, useState } from "preact/hooks";
import { bytes, put, read, send, words_of, type Complaint } from "./asking";
import { buffer_of, Player } from "./player";
import { PlayerBar } from "./PlayerBar";
import looks from "./listen.css?url";
import { Sessions, type SessionRow } from "./Sessions";

const sheet = document.createElement("link"); // it comes while the page asks what there is to hear
sheet.rel = "stylesheet";
sheet.href = looks;
document.head.append(sheet);

export interface Choices {
  clips: string[];
  seats: string[];
  candidates: { file: string; title: string }[];
  unsaved: boolean;
  caution: string;
  sessions: SessionRow[];
}

interface Sound {
  id: string;
  title: string;
  seat: string;
  rate_hz: number;
  samples: number;
  facts: Record<string, string>;
  modelled: string[];
  left_out: string[];
}

export function Wrong({ complaint }: { complaint: Complaint | null }) {
  return (
    <div role="alert">
      {complaint && (
        <p class="complaint">
          <b class="stops">{complaint.what}</b> {complaint.where && <small>{complaint.where}</small>} {complaint.cure}
        </p>
      )}
    </div>
  );
}

export default function Listen({ revision }: { revision: number }) {
  const [choices, set_choices] = useState<Choices | null>(null);
  const [wrong, set_wrong] = useState<Complaint | null>(null);
  const look = () =>
    read<Choices>("/listen.json").then(
      (found) => (set_choices(found), set_wrong(null)),
      (error: unknown) => set_wrong(words_of(error)),
    );
  useEffect(() => void look(), [revision]);
  return (
    <div class="desk listen">
      <Wrong complaint={wrong} />
      {choices && <Sounds choices={choices} changed={look} />}
      {choices && <Sessions choices={choices} changed={look} />}
    </div>
  );
}

const RATE_HZ = 48_000; // of every sound that the server makes

function Sounds({ choices, changed }: { choices: Choices; changed: () => Promise<void> }) {
  const [clip, set_clip] = useState(choices.clips[0] ?? "");
  const [seat, set_seat] = useState(choices.seats[0] ?? "");
  const [wanted, set_wanted] = useState(choices.candidates.map((one) => one.file));
  const [sounds, set_sounds] = useState<Sound[]>([]);
  const [chosen, set_chosen] = useState(0);
  const [busy, set_busy] = useState(false);
  const [wrong, set_wrong] = useState<Complaint | null>(null);
  const context = useRef<AudioContext | null>(null);
  const player = useRef<Player | null>(null);
  const page = useRef(crypto.randomUUID());
  const ticket = useRef(0); // of the newest request: what an older one brings is passed over
  useEffect(
    () => () => {
      ticket.current = -1;
      void context.current?.close();
    },
    [],
  );

  const wake = (): Player => {
    void context.current?.resume();
    return player.current as Player;
  };
  const make = async () => {
    const own = ++ticket.current;
    set_busy(true);
    set_wrong(null);
    try {
      const asked = send<{ sounds: Sound[] }>("/listen/sounds", { clip, seat, candidates: wanted, page: page.current });
      const here = (context.current ??= new AudioContext({ sampleRate: RATE_HZ })); // it wakes while sounds are made
      player.current ??= new Player(here);
      const told = await asked;
      if (own !== ticket.current) return;
      if (!told.sounds.length) return set_busy(false); // somebody stopped it
      const buffers = await Promise.all(told.sounds.map(async (one) => buffer_of(here, await bytes(`/listen/sound/${one.id}`), one.rate_hz)));
      if (own !== ticket.current) return;
      player.current.load(buffers); // what plays goes on at the same place
      set_chosen(player.current.chosen);
      set_sounds(told.sounds);
    } catch (error) {
      if (own === ticket.current) set_wrong(words_of(error));
    }
    if (own === ticket.current) set_busy(false);
  };
  useEffect(() => {
    if (wanted.length) void make();
  }, [clip, seat, wanted.join("\n")]);
  const bring = async (file: File | undefined) => {
    if (!file) return;
    try {
      const told = await put<{ clip: string }>(`/listen/clip?name=${encodeURIComponent(file.name)}`, file);
      await changed();
      set_clip(told.clip);
      set_wrong(null);
    } catch (error) {
      set_wrong(words_of(error));
    }
  };
  const choose = (index: number) => {
    player.current?.choose(index);
    set_chosen(player.current?.chosen ?? 0);
  };
  const toggle = (file: string, on: boolean) =>
    set_wanted(choices.candidates.map((one) => one.file).filter((name) => (name === file ? on : wanted.includes(name))));
  const now = sounds[chosen];
  return (
    <section class="card" aria-labelledby="sounds-title">
      <h2 id="sounds-title">As it would sound there</h2>
      <p>
        <b class="check">▲ caution</b> {choices.caution}
      </p>
      <div class="row">
        <Choice name="clip" value={clip} all={choices.clips} choose={set_clip} />
        <label class="field">
          or bring one
          <input type="file" accept=".wav,.flac" onChange={(event) => void bring(event.currentTarget.files?.[0])} />
        </label>
        <Choice name="seat" value={seat} all={choices.seats} choose={set_seat} />
        {choices.candidates.map(({ file, title }) => (
          <label key={file}>
            <input type="checkbox" checked={wanted.includes(file)} onChange={(event) => toggle(file, event.currentTarget.checked)} /> {title}
          </label>
        ))}
        <button type="button" disabled={busy || !wanted.length} title="after a change of the design" onClick={() => void make()}>
          {busy ? "Making the sounds …" : "Make them again"}
        </button>
      </div>
      <Wrong complaint={wrong} />
      {now && (
        <div
          onKeyDown={(event) => {
            const number = Number(event.key);
            if (number >= 1 && number <= sounds.length && !(event.target instanceof HTMLSelectElement)) choose(number - 1);
          }}
        >
          <PlayerBar player={player.current} ready wake={wake} />
          <div class="row" role="group" aria-label="What is heard; keys 1, 2, 3 … switch">
            {sounds.map((one, index) => (
              <button type="button" key={one.id} aria-pressed={index === chosen} onClick={() => choose(index)}>
                {index + 1} {one.title}
              </button>
            ))}
          </div>
          <h3>
            {now.title} at {now.seat}{" "}
            <a href={`/listen/sound/${now.id}?wav`} download>
              save as WAV
            </a>
          </h3>
          {sounds.length > 1 && <Levels sounds={sounds} />}
          <div class="notes">
            <Notes name="What is modelled" notes={now.modelled} />
            <Notes name="What is not, or estimated" notes={now.left_out} />
            <Notes name="Alike in all" notes={facts_alike(sounds).map((key) => `${key}: ${told(now.facts[key])}`)} />
          </div>
        </div>
      )}
    </section>
  );
}

const NAMED = ["format", "candidate", "design", "design hash", "seat", "head"]; // in the file; here the page says it

const facts_of = (sounds: readonly Sound[]) =>
  [...new Set(sounds.flatMap((one) => Object.keys(one.facts)))].filter((key) => !NAMED.includes(key));
const facts_alike = (sounds: readonly Sound[]) =>
  facts_of(sounds).filter((key) => sounds.every((one) => one.facts[key] === sounds[0]?.facts[key]));
export const told = (text = "") => text.replace(/(^|\s)-(?=\d)/g, "$1−");

function Notes({ name, notes }: { name: string; notes: readonly string[] }) {
  return (
    <div>
      <h3>{name}</h3>
      <ul>
        {notes.map((note) => (
          <li key={note}>{note}</li>
        ))}
      </ul>
    </div>
  );
}

/** What differs among the sounds, a column for each. */
function Levels({ sounds }: { sounds: readonly Sound[] }) {
  const alike = facts_alike(sounds);
  return (
    <table>
      <thead>
        <tr>
          <td />
          {sounds.map((one) => (
            <th scope="col" key={one.id}>
              {one.title}
            </th>
          ))}
        </tr>
      </thead>
      <tbody>
        {facts_of(sounds)
          .filter((key) => !alike.includes(key))
          .map((key) => (
            <tr key={key}>
              <th scope="row">{key}</th>
              {sounds.map((one) => (
                <td key={one.id}>{told(one.facts[key])}</td>
              ))}
            </tr>
          ))}
      </tbody>
    </table>
  );
}

interface ChoiceProps {
  name: string;
  value: string;
  all: readonly string[];
  words?: Record<string, string>;
  choose: (value: string) => void;
}

export function Choice({ name, value, all, words, choose }: ChoiceProps) {
  return (
    <label>
      {name}{" "}
      <select value={value} onChange={(event) => choose(event.currentTarget.value)}>
        {all.map((one) => (
          <option key={one} value={one} selected={one === value}>
            {words?.[one] ?? one.replace("listening/clips/", "")}
          </option>
        ))}
      </select>
    </label>
  );
}
