/** Directions out of the speaker, as they lie along an orbit and in the room. */

export type OrbitName = "horizontal" | "vertical";

const RADIANS = Math.PI / 180;
/** A seat this near to the plane of an orbit is heard much as the map shows it. */
export const NEAR_PLANE_DEG = 10;

/** Where a direction lies along an orbit, and how far it stands off the orbit"s plane; both in degrees. */
export function along_orbit(
  orbit: OrbitName,
  azimuth_deg: number,
  elevation_deg: number,
): { along_deg: number; off_deg: number } {
  if (orbit === "horizontal") return { along_deg: azimuth_deg, off_deg: Math.abs(elevation_deg) };
  const a = azimuth_deg * RADIANS;
  const e = elevation_deg * RADIANS;
  const across = Math.cos(e) * Math.sin(a);
  return {
    along_deg: Math.atan2(Math.sin(e), Math.cos(e) * Math.cos(a)) / RADIANS,
    off_deg: Math.abs(Math.asin(Math.max(-1, Math.min(1, across)))) / RADIANS,
  };
}

/** An angle of an orbit as a unit vector in room axes (x along the length, y to the right, z up). */
export function room_direction(
  orbit: OrbitName,
  angle_deg: number,
  turn_deg: number,
  tilt_deg: number,
): [number, number, number] {
  const angle = angle_deg * RADIANS;
  const ahead = Math.cos(angle);
  const right = orbit === "horizontal" ? Math.sin(angle) : 0;
  const up = orbit === "vertical" ? Math.sin(angle) : 0;
  const tilt = tilt_deg * RADIANS;
  const turn = turn_deg * RADIANS;
  const level = ahead * Math.cos(tilt) - up * Math.sin(tilt);
  return [
    level * Math.cos(turn) - right * Math.sin(turn),
    level * Math.sin(turn) + right * Math.cos(turn),
    ahead * Math.sin(tilt) + up * Math.cos(tilt),
  ];
}

/** How far one can go from a place inside a rectangle, along a direction, before meeting its edge. */
export function reach(from: [number, number], way: [number, number], size: [number, number]): number {
  let far = Infinity;
  for (const axis of [0, 1] as const) {
    if (Math.abs(way[axis]) < 1e-9) continue;
    const edge = way[axis] > 0 ? size[axis] : 0;
    far = Math.min(far, (edge - from[axis]) / way[axis]);
  }
  return Number.isFinite(far) ? Math.max(0, far) : 0;
}

/** An angle as read out: "34° right", "12° down", "on axis". */
export function angle_words(orbit: OrbitName, angle_deg: number): string {
  const shown = Math.round(angle_deg);
  if (shown === 0) return "on axis";
  if (Math.abs(shown) === 180) return "180°, behind";
  const [plus, minus] = orbit === "horizontal" ? ["right", "left"] : ["up", "down"];
  return `${Math.abs(shown)}° ${shown > 0 ? plus : minus}`;
}
