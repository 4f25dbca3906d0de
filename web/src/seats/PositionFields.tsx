// The number field beside every handle of the plan.
import { NumberField } from "../parts/Fields";
import type { Placement, SeatRow } from "../picture";
import { change, chosen, chosen_key, head, key_of } from "../store";
import { ear_raised, seat_moved, speaker_aimed, speaker_moved, turned } from "./moves";
import { worst_of_each } from "./plan";

export function PositionFields() {
  const now = head.value;
  if (!now) return null;
  const own = now.placements.filter((placement) => placement.own);
  return (
    <div class="positions">
      <table>
        <thead>
          <tr>
            <th scope="col">in metres</th>
            <th scope="col">x</th>
            <th scope="col">y</th>
            <th scope="col">height</th>
          </tr>
        </thead>
        <tbody>
          {own.map((placement) => (
            <SpeakerRow key={placement.name} placement={placement} />
          ))}
          {worst_of_each(now.seats).map((seat) => (
            <SeatFields key={seat.name} seat={seat} />
          ))}
        </tbody>
      </table>
      {own.map((placement) => (
        <p class="aiming" key={placement.name}>
          <Degrees label={own.length > 1 ? `${placement.name}: turn` : "turn"} value={placement.turn_deg} most={180}
            onValue={(value) => change(speaker_aimed(placement, "turn", turned(value)), `field turn ${placement.name}`)} />
          <Degrees label={own.length > 1 ? `${placement.name}: tilt` : "tilt"} value={placement.tilt_deg} most={90}
            onValue={(value) => change(speaker_aimed(placement, "tilt", value), `field tilt ${placement.name}`)} />
        </p>
      ))}
      <p class="keys">On the plan the arrow keys move by 1 cm, with Shift by 10 cm; [ and ] turn the speaker by a degree.</p>
    </div>
  );
}

function Metres(props: { label: string; value: number; most: number; onValue: (value: number) => void }) {
  const inside = { least: 0.01, most: Number((props.most - 0.01).toFixed(2)) }; // nothing stands in a wall
  return <NumberField {...props} {...inside} unit="m" step={0.01} digits={2} hideLabel width="3.5em" />;
}

function Degrees({ most, ...props }: { label: string; value: number; most: number; onValue: (value: number) => void }) {
  return <NumberField {...props} unit="°" digits={1} least={-most} most={most} width="3.7em" />;
}

function SpeakerRow({ placement }: { placement: Placement }) {
  const room = head.value?.room;
  if (!room) return null;
  const move = (part: Partial<Placement>) =>
    change(speaker_moved(placement, { ...placement, ...part }), `field ${placement.name}`);
  return (
    <tr>
      <th scope="row">{placement.name}</th>
      <td><Metres label={`${placement.name} x`} value={placement.x_m} most={room.length_m} onValue={(x_m) => move({ x_m })} /></td>
      <td><Metres label={`${placement.name} y`} value={placement.y_m} most={room.width_m} onValue={(y_m) => move({ y_m })} /></td>
      <td><Metres label={`${placement.name} height`} value={placement.z_m} most={room.height_m} onValue={(z_m) => move({ z_m })} /></td>
    </tr>
  );
}

function SeatFields({ seat }: { seat: SeatRow }) {
  const room = head.value?.room;
  if (!room) return null;
  const move = (part: Partial<SeatRow>) => change(seat_moved(seat, { ...seat, ...part }), `field ${seat.name}`);
  const is_chosen = chosen.value?.seat.name === seat.name;
  return (
    <tr class={is_chosen ? "chosen" : ""}>
      <th scope="row">
        <button type="button" class="name" aria-pressed={is_chosen} onClick={() => (chosen_key.value = key_of(seat))}>
          {seat.name}
        </button>
      </th>
      <td><Metres label={`${seat.name} x`} value={seat.x_m} most={room.length_m} onValue={(x_m) => move({ x_m })} /></td>
      <td><Metres label={`${seat.name} y`} value={seat.y_m} most={room.width_m} onValue={(y_m) => move({ y_m })} /></td>
      <td><Metres label={`${seat.name} ear height`} value={seat.ear_m} most={room.height_m} onValue={(ear_m) => change(ear_raised(seat, ear_m), `field ear ${seat.name}`)} /></td>
    </tr>
  );
}
