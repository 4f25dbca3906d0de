// The room to scale. Everything on it is dragged, or moved by keys, or typed into the fields beside it.
import { useRef } from "preact/hooks";
import { useHeld } from "../parts/held";
import { standing_alone } from "../parts/copying";
import { spread_step, SPREAD_STEPS } from "../parts/scales";
import { Figure } from "../parts/Tools";
import { frequency, hole_words, number, quantity } from "../parts/words";
import type { Placement, Reflector, SeatRow } from "../picture";
import { change, chosen, chosen_key, drag_group, head, key_of, marked } from "../store";
import { PositionFields } from "./PositionFields";
import { seat_moved, snapped, speaker_aimed, speaker_moved, step_of, turn_of, turn_toward, turned, type Spot } from "./moves";
import { plan_scale, to_px, to_room, worst_of_each, wrapped, type PlanScale } from "./plan";

const SEAT_WIDTH = 40;
const SEAT_HEIGHT = 32;
const OTHER_SIZE_M = 0.3; // drawn for a speaker of another design

export function Plan() {
  const drawing = useRef<SVGSVGElement>(null);
  const now = head.value;
  if (!now) return null;
  const { room } = now;
  const scale = plan_scale(room);
  const table = () => ({
    heads: ["seat", "x", "y", "ear height", "spread"],
    rows: now.seats.map((seat) => [
      seat_title(seat, now.placements.length > 1),
      quantity(seat.x_m, "m", 2), quantity(seat.y_m, "m", 2), quantity(seat.ear_m, "m", 2), quantity(seat.spread_db, "dB", 1),
    ]),
  });
  return (
    <section class="card" aria-label="Room">
      <Figure
        title={`${room.title}, ${number(room.length_m, 1)} × ${number(room.width_m, 1)} m`}
        note="on each seat: its spread, 200 Hz to 10 kHz, in dB"
        svg={() => (drawing.current ? standing_alone(drawing.current) : null)}
        table={table}
      >
        <div class="room">
          <svg ref={drawing} class="room-plan" viewBox={`0 0 ${scale.width} ${scale.height}`} style={{ maxWidth: `${scale.width}px` }} role="group" aria-label="Room from above; the front wall is at the top">
            <Floor room={room} scale={scale} />
            {now.reflectors.map((reflector) => (
              <Board key={reflector.name} reflector={reflector} scale={scale} />
            ))}
            {now.placements.map((placement) => (
              <Speaker key={placement.name} placement={placement} scale={scale} />
            ))}
            {worst_of_each(now.seats).map((seat) => (
              <Seat key={seat.name} seat={seat} scale={scale} />
            ))}
          </svg>
          <PositionFields />
        </div>
      </Figure>
      <Legend />
    </section>
  );
}

export function seat_title(seat: SeatRow, several: boolean): string {
  return several ? `${seat.name}, from ${seat.placement}` : seat.name;
}

function Floor({ room, scale }: { room: { length_m: number; width_m: number }; scale: PlanScale }) {
  const [left, top] = to_px(scale, { x_m: 0, y_m: 0 });
  const [right, bottom] = to_px(scale, { x_m: room.length_m, y_m: room.width_m });
  const metres = (size: number) => Array.from({ length: Math.max(0, Math.ceil(size) - 1) }, (_, index) => index + 1);
  return (
    <g aria-hidden="true">
      {metres(room.width_m).map((y_m) => {
        const [x] = to_px(scale, { x_m: 0, y_m });
        return <line key={y_m} x1={x} x2={x} y1={top} y2={bottom} class="grid" />;
      })}
      {metres(room.length_m).map((x_m) => {
        const [, y] = to_px(scale, { x_m, y_m: 0 });
        return <line key={x_m} x1={left} x2={right} y1={y} y2={y} class="grid" />;
      })}
      <rect x={left} y={top} width={right - left} height={bottom - top} class="wall" />
      <text x={(left + right) / 2} y={top - 8} text-anchor="middle" class="tick">
        y, {quantity(room.width_m, "m", 1)}
      </text>
      <text transform={`translate(${left - 9} ${(top + bottom) / 2}) rotate(-90)`} text-anchor="middle" class="tick">
        x, {quantity(room.length_m, "m", 1)}
      </text>
    </g>
  );
}

/** A board or screen; where it stands on edge it is a line. */
function Board({ reflector, scale }: { reflector: Reflector; scale: PlanScale }) {
  const [left, top] = to_px(scale, { x_m: reflector.x_m[0], y_m: reflector.y_m[0] });
  const [right, bottom] = to_px(scale, { x_m: reflector.x_m[1], y_m: reflector.y_m[1] });
  return (
    <rect x={Math.min(left, right)} y={Math.min(top, bottom)} width={Math.abs(right - left)} height={Math.abs(bottom - top)} class="reflector">
      <title>{reflector.name}</title>
    </rect>
  );
}

/** Follow a pointer that drags something on the plan; tells places in the room. */
function useDrag(scale: PlanScale, moved: (spot: Spot, group: string) => void) {
  const grip = useRef<{ dx: number; dy: number; group: string } | null>(null);
  const at = (event: PointerEvent) => {
    const drawing = (event.currentTarget as SVGElement).ownerSVGElement;
    const matrix = drawing?.getScreenCTM()?.inverse();
    const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix);
    return to_room(scale, point.x, point.y);
  };
  return {
    down(event: PointerEvent, from: Spot, name: string) {
      if (event.button !== 0) return;
      (event.currentTarget as Element).setPointerCapture(event.pointerId);
      const spot = at(event);
      grip.current = { dx: from.x_m - spot.x_m, dy: from.y_m - spot.y_m, group: drag_group(name) };
    },
    move(event: PointerEvent) {
      const held = grip.current;
      if (!held) return;
      const spot = at(event);
      moved({ x_m: spot.x_m + held.dx, y_m: spot.y_m + held.dy }, held.group);
    },
    up() {
      grip.current = null;
    },
  };
}

function Seat({ seat, scale }: { seat: SeatRow; scale: PlanScale }) {
  const room = head.value?.room;
  const [spot, hold] = useHeld<Spot>({ x_m: seat.x_m, y_m: seat.y_m });
  const move = (to: Spot, group: string) => {
    if (!room) return;
    const next = snapped(to, room);
    if (next.x_m === spot.x_m && next.y_m === spot.y_m) return;
    hold(next);
    change(seat_moved(seat, next), group);
  };
  const drag = useDrag(scale, move);
  const choose = () => {
    if (chosen.value?.seat.name !== seat.name) chosen_key.value = key_of(seat);
  };
  const key = (event: KeyboardEvent) => {
    const step = step_of(event.key, event.shiftKey);
    if (step) move({ x_m: spot.x_m + step.x_m, y_m: spot.y_m + step.y_m }, `keys ${seat.name}`);
    else if (event.key === "Enter" || event.key === " ") choose();
    else return;
    event.preventDefault();
  };
  const is_chosen = chosen.value?.seat.name === seat.name;
  const is_marked = marked.value?.desk === "seats" && marked.value.target === seat.name;
  const step = spread_step(seat.spread_db);
  const [x, y] = to_px(scale, spot);
  const named = wrapped(seat.name);
  const words = `${seat.name}: spread ${quantity(seat.spread_db, "dB", 1)}, hole ${hole_words(seat.hole)}; at x ${quantity(spot.x_m, "m", 2)}, y ${quantity(spot.y_m, "m", 2)}`;
  return (
    <g>
      <g
        class={`handle seat-handle${is_chosen ? " chosen" : ""}`}
        tabindex={0}
        role="button"
        aria-pressed={is_chosen}
        aria-label={words}
        data-seat={seat.name}
        onPointerDown={(event) => {
          choose();
          drag.down(event, spot, seat.name);
        }}
        onPointerMove={drag.move}
        onPointerUp={drag.up}
        onPointerCancel={drag.up}
        onFocus={choose}
        onKeyDown={key}
      >
        {is_marked && <rect class="mark" x={x - 30} y={y - 26} width={60} height={52} rx={12} />}
        <rect class="ring" x={x - SEAT_WIDTH / 2 - 4} y={y - SEAT_HEIGHT / 2 - 4} width={SEAT_WIDTH + 8} height={SEAT_HEIGHT + 8} rx={10} />
        <rect class="seat" x={x - SEAT_WIDTH / 2} y={y - SEAT_HEIGHT / 2} width={SEAT_WIDTH} height={SEAT_HEIGHT} rx={7} fill={step.fill} />
      </g>
      <g class="words" aria-hidden="true">
        <text class="spread" data-spread-at={seat.name} x={x} y={y + 5} text-anchor="middle" fill={step.ink}>
          {number(seat.spread_db, 1)}
        </text>
        {[...named, ...(seat.hole ? [quantity(-Math.abs(seat.hole.db), "dB"), frequency(seat.hole.hz)] : [])].map((line, index) => (
          <text key={line} class={`halo ${index < named.length ? "small" : "tick"}`} x={x} y={y + SEAT_HEIGHT / 2 + 15 + 12.5 * index} text-anchor="middle">
            {line}
          </text>
        ))}
      </g>
    </g>
  );
}

function Speaker({ placement, scale }: { placement: Placement; scale: PlanScale }) {
  const now = head.value;
  const [place, hold] = useHeld({ x_m: placement.x_m, y_m: placement.y_m, turn_deg: placement.turn_deg });
  const move = (to: Spot, group: string) => {
    if (!now || !placement.own) return;
    const next = snapped(to, now.room);
    if (next.x_m === place.x_m && next.y_m === place.y_m) return;
    hold({ ...place, ...next });
    change(speaker_moved(placement, { ...next, z_m: placement.z_m }), group);
  };
  const turn = (degrees: number, group: string) => {
    if (!placement.own || degrees === place.turn_deg) return;
    hold({ ...place, turn_deg: degrees });
    change(speaker_aimed(placement, "turn", degrees), group);
  };
  const drag = useDrag(scale, move);
  const aim = useDrag(scale, (spot, group) => turn(turn_toward(place, spot), group));
  const key = (event: KeyboardEvent) => {
    const step = step_of(event.key, event.shiftKey);
    const by = turn_of(event.key);
    if (step) move({ x_m: place.x_m + step.x_m, y_m: place.y_m + step.y_m }, `keys ${placement.name}`);
    else if (by !== null) turn(turned(place.turn_deg + by), `turn ${placement.name}`);
    else return;
    event.preventDefault();
  };
  if (!now) return null;
  const size = placement.own
    ? { width_m: now.cabinet.width_mm / 1000, depth_m: now.cabinet.depth_mm / 1000 }
    : { width_m: OTHER_SIZE_M, depth_m: OTHER_SIZE_M };
  const point = corner_of(place, scale);
  const half = size.width_m / 2;
  const outline = [point(0, -half), point(0, half), point(-size.depth_m, half), point(-size.depth_m, -half)];
  const knob = point(AIM_M, 0);
  const [x, y] = to_px(scale, place);
  const grip = { x_m: place.x_m + AIM_M * Math.cos(rad(place.turn_deg)), y_m: place.y_m + AIM_M * Math.sin(rad(place.turn_deg)) };
  const is_marked = marked.value?.desk === "seats" && marked.value.target === placement.name;
  if (!placement.own) {
    return (
      <g class="other-speaker">
        <polygon class="cabinet other" points={outline.join(" ")} />
        <text class="halo small" x={x + 12} y={y + 20}>{placement.name}</text>
      </g>
    );
  }
  return (
    <g>
      {is_marked && <circle class="mark" cx={x} cy={y} r={34} />}
      <g
        class="handle speaker-handle"
        tabindex={0}
        role="button"
        aria-label={`${placement.name}, the speaker: at x ${quantity(place.x_m, "m", 2)}, y ${quantity(place.y_m, "m", 2)}, turned ${number(place.turn_deg, 1)}°; arrow keys move it, [ and ] turn it`}
        data-placement={placement.name}
        onPointerDown={(event) => drag.down(event, place, placement.name)}
        onPointerMove={drag.move}
        onPointerUp={drag.up}
        onPointerCancel={drag.up}
        onKeyDown={key}
      >
        <polygon class="cabinet" points={outline.join(" ")} />
        <polyline class="front" points={`${point(0, -half)} ${point(0, half)}`} />
      </g>
      <text aria-hidden="true" class="halo small words" x={x + 12} y={y + 20}>{placement.name}</text>
      <polyline class="aim" points={`${point(0, 0)} ${knob}`} aria-hidden="true" />
      <circle
        class="knob"
        cx={knob.split(",")[0]}
        cy={knob.split(",")[1]}
        r={6}
        aria-hidden="true"
        data-turn={placement.name}
        onPointerDown={(event) => aim.down(event, grip, `turn ${placement.name}`)}
        onPointerMove={aim.move}
        onPointerUp={aim.up}
        onPointerCancel={aim.up}
      />
    </g>
  );
}

const AIM_M = 0.75;
const rad = (degrees: number) => (degrees * Math.PI) / 180;

/** Pixels of a point given along and across the speaker's own axes. */
function corner_of(place: Spot & { turn_deg: number }, scale: PlanScale): (along_m: number, across_m: number) => string {
  const [c, s] = [Math.cos(rad(place.turn_deg)), Math.sin(rad(place.turn_deg))];
  return (along_m, across_m) =>
    to_px(scale, { x_m: place.x_m + along_m * c - across_m * s, y_m: place.y_m + along_m * s + across_m * c })
      .map((value) => value.toFixed(1))
      .join(",");
}

function Legend() {
  return (
    <ul class="legend" aria-label="Colours of the seats, by spread">
      {SPREAD_STEPS.map((step, index) => (
        <li key={step.label}>
          <svg width="20" height="15" aria-hidden="true">
            <rect class="seat" x="1" y="1" width="18" height="13" rx="3" fill={step.fill} />
          </svg>
          {step.label}
          {index === SPREAD_STEPS.length - 1 ? " dB" : ""}
        </li>
      ))}
    </ul>
  );
}

