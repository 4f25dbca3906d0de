// How the goal falls while a search runs: everything tried, and what is made of parts that can be had.
import { useRef } from "preact/hooks";
import { standing_alone } from "../parts/copying";
import { Figure } from "../parts/Tools";
import { number, quantity } from "../parts/words";
import { axis_for, placed, tens } from "./drawing";
import { falling, shown, type Point } from "./state";

const WIDTH = 460;
const HEIGHT = 120;
const LEFT = 40;
const RIGHT = 10;
const TOP = 10;
const BOTTOM = 24;
const STEEP = 2.5; // times the last goal, above which the beginning of a fall is cut off

export function Falling() {
  const drawing = useRef<SVGSVGElement>(null);
  const fell = falling.value?.fell ?? [];
  const made = falling.value?.made ?? [];
  const last = fell[fell.length - 1];
  if (!last) return null;
  const most = Math.max(last[0], made[made.length - 1]?.[0] ?? 0);
  const whole = last[1] * STEEP;
  const heights = [...fell, ...made].map(([, db]) => db).filter((db) => db <= whole);
  const up = axis_for(heights, 3, 0);
  const along = tens(fell[0]?.[0] ?? 1, most);
  const x = (count: number) => placed(along, Math.log10(Math.max(1, count)), LEFT, WIDTH - RIGHT);
  const y = (db: number) => placed(up, Math.min(db, up.high), HEIGHT - BOTTOM, TOP);
  const told = [...tagged(fell, "tried"), ...tagged(made, "made of parts that can be had")].sort((one, other) => one[0] - other[0]);
  const best = Math.min(...made.map(([, db]) => db));
  const words = `After ${last[0]} networks the best of all tried is ${quantity(last[1], "dB", 2)}${
    made.length ? `, the best that can be had ${quantity(best, "dB", 2)}` : ""
  }.`;
  return (
    <Figure
      title="How the goal falls"
      note="unevenness in dB, over networks tried"
      svg={() => (drawing.current ? standing_alone(drawing.current) : null)}
      table={() => ({ heads: ["networks tried", "goal", "of"], rows: told.map(([count, db, of]) => [number(count), quantity(db, "dB", 3), of]) })}
    >
      <svg ref={drawing} class="drawn" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={words}>
        {up.ticks.map((tick) => (
          <g key={tick}>
            <line x1={LEFT} x2={WIDTH - RIGHT} y1={y(tick)} y2={y(tick)} class="grid" />
            <text x={LEFT - 6} y={y(tick) + 4} text-anchor="end" class="mark">{number(tick, 1)}</text>
          </g>
        ))}
        {along.ticks.map((tick) => (
          <text key={tick} x={placed(along, tick, LEFT, WIDTH - RIGHT)} y={HEIGHT - 7} text-anchor="middle" class="mark">
            {number(10 ** tick)}
          </text>
        ))}
        <polyline points={stairs([...fell, [most, last[1]]], x, y)} class="fall" />
        {made.filter(([, db]) => db <= up.high).map(([count, db], index) => (
          <circle key={index} cx={x(count)} cy={y(db)} r="3.5" class="had" />
        ))}
      </svg>
      <p class="quietly" aria-live="off">
        {words} {shown.value?.running.includes("voice") ? "" : "Line: everything tried, also values that nobody sells; dots: networks of parts that can be had."}
      </p>
    </Figure>
  );
}

const tagged = (points: readonly Point[], of: string) => points.map(([count, db]) => [count, db, of] as const);

/** The corners of a line that falls in steps. */
function stairs(points: readonly Point[], x: (count: number) => number, y: (db: number) => number): string {
  return points
    .map(([count, db], index) => {
      const before = points[index - 1];
      return `${before ? `${x(count)},${y(before[1])} ` : ""}${x(count)},${y(db)}`;
    })
    .join(" ");
}
