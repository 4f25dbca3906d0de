// A small plan of the room: from above for the horizontal orbit, from the side for the vertical one.
import { chosen, head } from "../store";
import type { Placement } from "../picture";
import { angle_words, reach, room_direction } from "./directions";
import { angle_deg, orbit } from "./look";

const WIDTH = 150;
const HEIGHT = 166;
const WORDS = 16; // under the plan
const MARGIN = 8;

/** Where the speaker stands from which the angle is drawn: that of the chosen seat, else the first of this design. */
function standing(): Placement | null {
  const placements = head.value?.placements.filter((placement) => placement.own) ?? [];
  const wanted = chosen.value?.seat.placement;
  return placements.find((placement) => placement.name === wanted) ?? placements[0] ?? null;
}

export function Plan() {
  const now = head.value;
  const place = standing();
  if (!now || !place) return null;
  const { length_m, width_m, height_m } = now.room;
  const above = orbit.value === "horizontal";
  // From above: the listener's right to the right, the front wall on top. From the side: the front wall at the left.
  const [across_m, down_m] = above ? [width_m, length_m] : [length_m, height_m];
  const scale = Math.min((WIDTH - 2 * MARGIN) / across_m, (HEIGHT - WORDS - 2 * MARGIN) / down_m);
  const left = (WIDTH - across_m * scale) / 2;
  const top = (HEIGHT - WORDS - down_m * scale) / 2;
  const x = (m: { x_m: number; y_m: number }): number => left + (above ? m.y_m : m.x_m) * scale;
  const y = (m: { x_m: number; up_m: number }): number => top + (above ? m.x_m : height_m - m.up_m) * scale;
  const seats = now.seats.filter((seat) => seat.placement === place.name);
  const words = angle_deg.value === null ? "" : `, ${angle_words(orbit.value, angle_deg.value)} marked`;
  return (
    <svg
      class="plan"
      viewBox={`0 0 ${WIDTH} ${HEIGHT}`}
      role="img"
      aria-label={`The room ${above ? "from above" : "from the side"}, ${place.name}${words}`}
    >
      <rect class="wall" x={left} y={top} width={across_m * scale} height={down_m * scale} />
      {seats.map((seat) => (
        <circle key={seat.name} class="seat" cx={x(seat)} cy={y({ x_m: seat.x_m, up_m: seat.ear_m })} r={4} />
      ))}
      <text class="tick" x={WIDTH / 2} y={HEIGHT - 2} text-anchor="middle">
        {above ? "from above" : "from the side"}
      </text>
      <Ray place={place} scale={scale} left={left} top={top} above={above} />
    </svg>
  );
}

interface RayProps {
  place: Placement;
  scale: number;
  left: number;
  top: number;
  above: boolean;
}

function Ray({ place, scale, left, top, above }: RayProps) {
  const now = head.value;
  if (!now) return null;
  const { length_m, width_m, height_m } = now.room;
  const flat = (d: readonly [number, number, number]): [number, number] => (above ? [d[1], d[0]] : [d[0], -d[2]]);
  const from: [number, number] = above ? [place.y_m, place.x_m] : [place.x_m, height_m - place.z_m];
  const size: [number, number] = above ? [width_m, length_m] : [length_m, height_m];
  const line = (deg: number, far: number | null) => {
    const way = flat(room_direction(orbit.value, deg, place.turn_deg, place.tilt_deg));
    const go = far ?? reach(from, way, size);
    return {
      x1: left + from[0] * scale,
      y1: top + from[1] * scale,
      x2: left + (from[0] + way[0] * go) * scale,
      y2: top + (from[1] + way[1] * go) * scale,
    };
  };
  const half = (above ? now.cabinet.width_mm : now.cabinet.height_mm) / 2000;
  const right = line(90, half);
  const wrong = line(-90, half);
  return (
    <>
      <line class="aim" {...line(0, null)} />
      {angle_deg.value !== null && <line class="pointed" {...line(angle_deg.value, null)} />}
      <line class="face" x1={wrong.x2} y1={wrong.y2} x2={right.x2} y2={right.y2} />
    </>
  );
}
