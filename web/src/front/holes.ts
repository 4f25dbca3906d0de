/** The direct holes of the seats, as they lie on the map of an orbit. */
import type { Placement, SeatRow, Story } from "../picture";
import { along_orbit, NEAR_PLANE_DEG, type OrbitName } from "./directions";

export interface HoleMark {
  key: string; // "placement / seat"
  number: number; // printed in the marker and in the list
  seat: string;
  db: number;
  hz: number;
  along_deg: number;
  off_deg: number;
  near: boolean; // the seat lies near the plane of the orbit
  story: Story | null; // null until the server has found the causes
}

/** Number the direct holes of the seats that hear this design, in the order of the seats. */
export function hole_marks(seats: readonly SeatRow[], placements: readonly Placement[], orbit: OrbitName): HoleMark[] {
  const own = new Set(placements.filter((placement) => placement.own).map((placement) => placement.name));
  const several = own.size > 1;
  return seats
    .filter((seat) => own.has(seat.placement))
    .flatMap((seat) => (seat.direct_hole ? [{ seat, hole: seat.direct_hole }] : []))
    .map(({ seat, hole }, index) => {
      const at = along_orbit(orbit, seat.azimuth_deg, seat.elevation_deg);
      return {
        key: `${seat.placement} / ${seat.name}`,
        number: index + 1,
        seat: several ? `${seat.name}, from ${seat.placement}` : seat.name,
        db: Math.abs(hole.db),
        hz: hole.hz,
        ...at,
        near: at.off_deg <= NEAR_PLANE_DEG,
        story: nearest_story(seat.stories, hole.hz),
      };
    });
}

/** The story of the hole nearest in frequency, within a sixth of an octave. */
export function nearest_story(stories: readonly Story[], hz: number): Story | null {
  let best: Story | null = null;
  let least = 1 / 6;
  for (const story of stories) {
    const octaves = Math.abs(Math.log2(story.hz / hz));
    if (octaves <= least) {
      best = story;
      least = octaves;
    }
  }
  return best;
}
