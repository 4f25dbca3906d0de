// How loud real speakers are at the seat: typed in, or from recordings of the same noise.
import { useEffect, useState } from "preact/hooks";
import { put, words_of, type Complaint } from "./asking";
import { told, Wrong } from "./Listen";

export interface Measured {
  levels_db: number[] | null;
  levels_known: string;
}

interface Level {
  db: number;
  channels: number; // 0 of a typed one
  digest: string; // of its recording
}

export const NOT_MEASURED: Measured = { levels_db: null, levels_known: "" };
const WAYS: Record<string, string> = { "": "not measured", typed: "typed in", recorded: "from recordings" };
const ALIKE_DB = 0.2; // as the server has it
const UNLIKE: Complaint = { what: "Some recordings have one channel and others two.", where: "", cure: "Record all alike." };
const TWICE: Complaint = { what: "The same recording is chosen for two speakers.", where: "", cure: "Choose the recording of each." };

/** What is wrong with levels that are each right. */
function wrong_among(levels: readonly Level[]): Complaint | null {
  if (new Set(levels.map((one) => one.channels)).size > 1) return UNLIKE;
  const files = levels.map((one) => one.digest).filter(Boolean);
  return new Set(files).size < files.length ? TWICE : null;
}

interface Props {
  speakers: readonly string[];
  /** Called with null while some speakers have a level and others none. */
  tell: (measured: Measured | null) => void;
}

export function LevelsAtSeat({ speakers, tell }: Props) {
  const [way, set_way] = useState("");
  const [levels, set_levels] = useState<Record<string, Level>>({});
  const [wrong, set_wrong] = useState<Complaint | null>(null);
  const found = speakers.flatMap((name) => levels[name] ?? []);
  const among = wrong_among(found);
  const whole = found.length === speakers.length && !among;
  const shown = JSON.stringify([way, whole, found]);
  useEffect(() => {
    tell(way === "" ? NOT_MEASURED : whole ? { levels_db: found.map((one) => one.db), levels_known: way } : null);
  }, [shown]);
  const keep = (name: string, level: Level | null) =>
    set_levels(({ [name]: _, ...others }) => (level ? { ...others, [name]: level } : others));
  const choose = (next: string) => {
    set_way(next);
    set_levels({});
    set_wrong(null);
  };
  const measure = async (name: string, input: HTMLInputElement) => {
    const file = input.files?.[0];
    keep(name, null);
    set_wrong(null);
    if (!file) return;
    try {
      const heard = await put<Omit<Level, "db"> & { loudness_lufs: number }>(`/listen/level?name=${encodeURIComponent(file.name)}`, file);
      if (input.files?.[0] === file) keep(name, { db: heard.loudness_lufs, channels: heard.channels, digest: heard.digest });
    } catch (error) {
      set_wrong(words_of(error));
    }
  };
  const loudest = Math.max(...found.map((one) => one.db));
  return (
    <section class="levels" aria-label="Levels of the speakers at the seat">
      <label>
        levels at the seat{" "}
        <select value={way} onChange={(event) => choose(event.currentTarget.value)}>
          {Object.entries(WAYS).map(([value, words]) => (
            <option key={value} value={value} selected={value === way}>
              {words}
            </option>
          ))}
        </select>
      </label>
      {way === "" && <p class="quietly">The result will say “levels not matched”: the louder of two is often heard as the better one.</p>}
      {way !== "" && (
        <p>
          <b class="check">▲ caution</b> Begin with the amplifier turned down, and turn it up only until noise is as loud as speech: loud noise harms
          hearing, and tweeters.
        </p>
      )}
      {way === "recorded" && (
        <p>
          Play the same noise through one speaker after the other, ten seconds each, and record it at the seat: one WAV or FLAC file a speaker, one
          recorder that stays where it is, its automatic level off. Files are measured, not kept.
        </p>
      )}
      {way !== "" && speakers.length < 2 && <p class="quietly">Name the speakers first.</p>}
      {way !== "" && speakers.length > 1 && (
        <table>
          <thead>
            <tr>
              <th scope="col">speaker</th>
              <th scope="col">{way === "typed" ? "level, dB" : "its recording"}</th>
              {way === "recorded" && <th scope="col">loudness</th>}
              <th scope="col">re the loudest</th>
            </tr>
          </thead>
          <tbody>
            {speakers.map((name) => (
              <tr key={`${way} ${name}`}>
                <th scope="row">{name}</th>
                <td>
                  {way === "typed" ? (
                    <input type="number" step="0.1" aria-label={`level of ${name}, dB`} onInput={({ currentTarget: { value } }) => keep(name, value ? { db: Number(value), channels: 0, digest: "" } : null)} />
                  ) : (
                    <input type="file" accept=".wav,.flac" aria-label={`recording of ${name}`} onChange={(event) => void measure(name, event.currentTarget)} />
                  )}
                </td>
                {way === "recorded" && <td>{levels[name] ? told(`${levels[name].db.toFixed(1)} LUFS`) : ""}</td>}
                <td>{levels[name] ? told(`${(levels[name].db - loudest).toFixed(1)} dB`) : ""}</td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
      <p role="status">{way !== "" && whole && speakers.length > 1 ? apart(found) : ""}</p>
      <Wrong complaint={wrong ?? among} />
    </section>
  );
}

function apart(levels: readonly Level[]): string {
  const db = levels.map((one) => one.db);
  const between = Math.max(...db) - Math.min(...db);
  const words = `${between.toFixed(1)} dB lie between the loudest and the softest`;
  if (between <= ALIKE_DB + 1e-9) return `${words}: matched.`;
  return `${words}, and ${ALIKE_DB} dB or less count as matched: turn the louder ones down and measure again.`;
}
