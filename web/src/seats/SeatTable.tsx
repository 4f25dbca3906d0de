import { hole_words, number, quantity } from "../parts/words";
import { chosen, chosen_key, head, key_of } from "../store";
import { seat_title } from "./Plan";
import { title_of_other } from "./Story";

export function SeatTable() {
  const now = head.value;
  if (!now) return null;
  const several = now.placements.filter((place) => place.own).length > 1;
  const other = now.seats.some((seat) => seat.other);
  return (
    <section class="card heard" aria-labelledby="seats-title">
      <div class="card-head">
        <h2 id="seats-title">Seats</h2>
        <small>among the seats the spread is {quantity(now.spread_among_seats_db, "dB", 1)}</small>
      </div>
      <div class="wide">
        <table>
          <thead>
            <tr>
              <th scope="col">seat</th>
              <th scope="col">angle</th>
              <th scope="col">distance</th>
              <th scope="col">spread (direct)</th>
              {now.kept && <th scope="col">A</th>}
              {other && <th scope="col">{title_of_other()}</th>}
              <th scope="col">hole in the room</th>
              <th scope="col">direct hole</th>
            </tr>
          </thead>
          <tbody>
            {now.seats.map((seat) => {
              const key = key_of(seat);
              const is_chosen = chosen.value?.seat === seat;
              return (
                <tr key={key} class={is_chosen ? "chosen" : ""}>
                  <th scope="row">
                    <button type="button" class="name" aria-pressed={is_chosen} onClick={() => (chosen_key.value = key)}>
                      {seat_title(seat, several)}
                    </button>
                  </th>
                  <td>{number(seat.azimuth_deg)}°</td>
                  <td>{quantity(seat.distance_m, "m", 1)}</td>
                  <td>
                    <b data-spread={seat.name}>{number(seat.spread_db, 1)}</b> ({number(seat.direct_spread_db, 1)}) dB
                  </td>
                  {now.kept && <td>{seat.kept ? quantity(seat.kept.spread_db, "dB", 1) : "none"}</td>}
                  {other && <td>{seat.other ? quantity(seat.other.spread_db, "dB", 1) : "none"}</td>}
                  <td class="hole">{hole_words(seat.hole)}</td>
                  <td class="hole">{hole_words(seat.direct_hole)}</td>
                </tr>
              );
            })}
          </tbody>
        </table>
      </div>
    </section>
  );
}
