// For whoever connects real speakers: what to connect now. Listeners must not see this page.
import { useEffect, useState } from "preact/hooks";
import { read, send, words_of, type Complaint } from "../listen/asking";
import { Said } from "./Said";

interface Leading {
  name: string;
  closed: boolean;
  turn: { listener: string; number: number; of: number; programme: string; wished: string | null; plays: string | null; connect: string | null } | null;
}

const SOON_MS = 400;

export function Leader({ id }: { id: string }) {
  const key = new URLSearchParams(location.search).get("key") ?? "";
  const [state, set_state] = useState<Leading | null>(null);
  const [wrong, set_wrong] = useState<Complaint | null>(null);
  const look = (): Promise<void> =>
    read<Leading>(`/leader/${id}.json?key=${encodeURIComponent(key)}`).then(
      (found) => (set_state(found), set_wrong(null)),
      (error: unknown) => set_wrong(words_of(error)),
    );
  useEffect(() => {
    void look();
    const timer = setInterval(() => void look(), SOON_MS);
    return () => clearInterval(timer);
  }, []);
  const plays = () => send(`/leader/${id}/plays`, { key }).then(look, (error: unknown) => set_wrong(words_of(error)));
  const turn = state?.turn;
  return (
    <>
      <header>
        <h1>{state ? `Leading: ${state.name}` : "Leading a session"}</h1>
      </header>
      <main class="desk">
        <Said complaint={wrong} again={look} />
        <section class="card">
          <p>
            <b class="check">▲ caution</b> Switch amplifiers off, or turn them down, before you change a connection. Keep this page, and what you
            connect, out of the listeners’ sight; say nothing about it.
          </p>
          {state?.closed && <p>The session is closed.</p>}
          {state && !state.closed && !turn && <p role="status">Nobody has asked for a sound yet.</p>}
          {turn && (
            <>
              <h2>
                {turn.listener}, trial {turn.number + 1} of {turn.of}
              </h2>
              <p>Play: {turn.programme}</p>
              <p role="status">
                {turn.wished ? (
                  <>
                    {turn.wished}: connect <b>{turn.connect}</b>
                  </>
                ) : (
                  "Nothing is asked for."
                )}
              </p>
              <button type="button" class="main" disabled={!turn.wished || turn.plays !== null} onClick={() => void plays()}>
                {turn.plays ? "It plays" : "It is connected and plays"}
              </button>
            </>
          )}
        </section>
      </main>
    </>
  );
}
