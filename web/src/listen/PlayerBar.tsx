// Play and stop, how loud, where in the programme: the same on the Listen desk and on the page of a session.
import { useEffect, useState } from "preact/hooks";
import { LOUDEST_DB, QUIET_DB, type Player } from "./player";

const TICK_MS = 200;

const clock = (seconds: number): string => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;

interface BarProps {
  player: Player | null;
  ready: boolean;
  /** Called before the first sound: a browser lets a page sound only after a press. */
  wake: () => Player;
}

export function PlayerBar({ player, ready, wake }: BarProps) {
  const [playing, set_playing] = useState(false);
  const [level_db, set_level] = useState(QUIET_DB);
  const [, tick] = useState(0);
  useEffect(() => {
    if (!playing) return;
    const timer = setInterval(() => tick((count) => count + 1), TICK_MS);
    return () => clearInterval(timer);
  }, [playing]);
  const toggle = () => {
    const woken = wake();
    if (woken.playing) woken.stop();
    else woken.play();
    set_playing(woken.playing);
  };
  const louder = (text: string) => {
    set_level(Number(text));
    player?.loudness(Number(text));
  };
  return (
    <div class="row">
      <button type="button" class="main" disabled={!ready} onClick={toggle}>
        {playing ? "Stop" : "Play"}
      </button>
      <label class="field">
        how loud
        <input type="range" min={-60} max={LOUDEST_DB} step={1} value={level_db} aria-valuetext={`${level_db} dB`} onInput={(event) => louder(event.currentTarget.value)} />
        <span class="unit">{String(level_db).replace("-", "−")} dB</span>
      </label>
      <span class="quietly">{player ? `${clock(player.position_s)} of ${clock(player.duration_s)}` : ""}</span>
    </div>
  );
}
