/** Directions out of the speaker, as they lie along an orbit and in the room. */

export type OrbitName = 'horizontal' | 'vertical';

const RADIANS = Math.PI / 180;
/** A seat this near to the plane of an orbit is heard much as the map shows it. */
export const NEAR_PLANE_DEG = 10;

/** Where a direction lies along an orbit, and how far it stands off the orbit's plane; both in degrees. */
export function alongOrbit(
  orbit: OrbitName,
  azimuthDeg: number,
  elevationDeg: number,
): { alongDeg: number; offDeg: number } {
  if (orbit === 'horizontal') return { alongDeg: azimuthDeg, offDeg: Math.abs(elevationDeg) };
  const a = azimuthDeg * RADIANS;
  const e = elevationDeg * RADIANS;
  const across = Math.cos(e) * Math.sin(a);
  return {
    alongDeg: Math.atan2(Math.sin(e), Math.cos(e) * Math.cos(a)) / RADIANS,
    offDeg: Math.abs(Math.asin(Math.max(-1, Math.min(1, across)))) / RADIANS,
  };
}

/** An angle of an orbit as a unit vector in room axes (x along the length, y to the right, z up). */
export function roomDirection(
  orbit: OrbitName,
  angleDeg: number,
  turnDeg: number,
  tiltDeg: number,
): [number, number, number] {
  const angle = angleDeg * RADIANS;
  const ahead = Math.cos(angle);
  const right = orbit === 'horizontal' ? Math.sin(angle) : 0;
  const up = orbit === 'vertical' ? Math.sin(angle) : 0;
  const tilt = tiltDeg * RADIANS;
  const turn = turnDeg * RADIANS;
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
export function angleWords(orbit: OrbitName, angleDeg: number): string {
  const shown = Math.round(angleDeg);
  if (shown === 0) return 'on axis';
  if (Math.abs(shown) === 180) return '180°, behind';
  const [plus, minus] = orbit === 'horizontal' ? ['right', 'left'] : ['up', 'down'];
  return `${Math.abs(shown)}° ${shown > 0 ? plus : minus}`;
}
