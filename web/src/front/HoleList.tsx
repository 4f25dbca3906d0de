// The holes marked on the map, and the causes of the one that is open, as bars of dB.
import { ShareBars } from "../parts/ShareBars";
import { fine_frequency, quantity, typeset } from "../parts/words";
import { head } from "../store";
import { angle_words } from "./directions";
import type { Story } from "../picture";
import type { HoleMark } from "./holes";
import { open_hole, opened, orbit } from "./look";
import { marks, shown_whose } from "./MapView";

export function HoleList() {
  const list = marks.value;
  if (shown_whose.value) return <p class="note">Holes and coverage are told of the design as it is now.</p>;
  if (!list.length) return <p class="note">No seat has a direct hole.</p>;
  const open = list.find((mark) => mark.key === opened.value);
  return (
    <div class="hole-list">
      <ul>
        {list.map((mark) => (
          <li key={mark.key}>
            <button
              type="button"
              class="quiet"
              aria-expanded={mark === open}
              onClick={() => open_hole(mark.key)}
            >
              <span class={mark.near ? "badge" : "badge away"}>{mark.number}</span> {mark.seat} {quantity(-mark.db, "dB")} at{" "}
              {fine_frequency(mark.hz)}
            </button>
          </li>
        ))}
      </ul>
      {open && <Causes mark={open} />}
    </div>
  );
}

/** Shares of the causes, and what they leave over where that is worth a line. */
function share_rows(story: Story): { name: string; db: number }[] {
  const rows = story.shares.map((share) => ({ name: share.cause, db: share.db }));
  return Math.abs(story.rest_db) < 0.05 ? rows : [...rows, { name: "none of these", db: story.rest_db }];
}

function Causes({ mark }: { mark: HoleMark }) {
  const { story } = mark;
  const seat = head.value?.seats.find((one) => `${one.placement} / ${one.name}` === mark.key);
  const off = Math.round(mark.off_deg);
  const plane = mark.near ? "" : `, ${off}° off this orbit's plane, so the map is not quite what the seat hears`;
  return (
    <section class="causes" aria-label={`Causes of the hole at ${mark.seat}`}>
      <h2>
        {mark.seat}: {quantity(-mark.db, "dB")} at {fine_frequency(mark.hz)}
      </h2>
      <p class="note">
        Direct sound, {angle_words(orbit.value, mark.along_deg)}
        {plane}.
      </p>
      {story ? <ShareBars rows={share_rows(story)} /> : <p class="note">Working out the causes…</p>}
      {story && (
        <p class="note">
          In the room {quantity(story.in_room_db, "dB")} of it are left.
          {seat?.cure && ` Cure: ${typeset(seat.cure)}.`}
        </p>
      )}
    </section>
  );
}
