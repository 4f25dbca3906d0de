// The holes marked on the map, and the causes of the one that is open, as bars of dB.
import { head } from "../store";
import { fine_frequency, quantity, typeset } from "../parts/words";
import { angle_words } from "./directions";
import type { HoleMark } from "./holes";
import { opened, orbit } from "./look";
import { marks } from "./MapView";

export function HoleList() {
  const list = marks.value;
  if (!head.value) return null;
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
              onClick={() => (opened.value = mark === open ? null : mark.key)}
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

function Causes({ mark }: { mark: HoleMark }) {
  const { story } = mark;
  const seat = head.value?.seats.find((one) => `${one.placement} / ${one.name}` === mark.key);
  const off = Math.round(mark.off_deg);
  const plane = mark.near ? "" : `, ${off}° off this orbit's plane: the map is not what the seat hears`;
  return (
    <section class="causes" aria-label={`Causes of the hole at ${mark.seat}`}>
      <h3>
        {mark.seat}: {quantity(-mark.db, "dB")} at {fine_frequency(mark.hz)}
      </h3>
      <p class="note">
        Direct sound, {angle_words(orbit.value, mark.along_deg)}
        {plane}.
      </p>
      {story ? <Bars rows={[...story.shares.map((share) => [share.cause, share.db] as const), ["the rest", story.rest_db] as const]} /> : <p class="note">Working out the causes…</p>}
      {story && (
        <p class="note">
          In the room {quantity(story.in_room_db, "dB")} of it are left.
          {seat?.cure && ` Cure: ${typeset(seat.cure)}.`}
        </p>
      )}
    </section>
  );
}

function Bars({ rows }: { rows: readonly (readonly [string, number])[] }) {
  const longest = Math.max(1, ...rows.map(([, db]) => Math.abs(db)));
  return (
    <table class="cause-bars">
      <tbody>
        {rows.map(([cause, db]) => (
          <tr key={cause}>
            <th scope="row">{cause}</th>
            <td class="bar">
              <span class={db < 0 ? "fills" : "deepens"} style={{ width: `${(100 * Math.abs(db)) / longest}%` }} />
            </td>
            <td>{quantity(db, "dB", 1)}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
