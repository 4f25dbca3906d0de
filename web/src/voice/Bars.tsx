// A picture of named bars, longest at will, with its table and copies.
import { useRef } from "preact/hooks";
import { standing_alone } from "../parts/copying";
import { Figure, type TableData } from "../parts/Tools";

export interface Bar {
  name: string;
  value: number;
  words: string;
}

interface BarsProps {
  title: string;
  note: string;
  bars: readonly Bar[];
  table: () => TableData;
}

const WIDTH = 460;
const STEP = 20;
const LEFT = 236;
const WORDS = 58;

export function Bars({ title, note, bars, table }: BarsProps) {
  const drawing = useRef<SVGSVGElement>(null);
  const most = Math.max(...bars.map(({ value }) => value), 1e-9);
  const height = STEP * bars.length + 6;
  const spoken = bars.map(({ name, words }) => `${name}: ${words}`).join("; ");
  return (
    <Figure title={title} note={note} svg={() => (drawing.current ? standing_alone(drawing.current) : null)} table={table}>
      <svg ref={drawing} class="drawn" viewBox={`0 0 ${WIDTH} ${height}`} role="img" aria-label={spoken}>
        {bars.map(({ name, value, words }, index) => {
          const long = (value / most) * (WIDTH - LEFT - WORDS);
          const middle = STEP * index + STEP / 2 + 3;
          return (
            <g key={name}>
              <text x={LEFT - 8} y={middle + 4} text-anchor="end">{name}</text>
              <rect x={LEFT} y={middle - 6} width={Math.max(1, long)} height="12" rx="2" class="bar-of" />
              <text x={LEFT + long + 6} y={middle + 4} class="mark">{words}</text>
            </g>
          );
        })}
      </svg>
    </Figure>
  );
}
