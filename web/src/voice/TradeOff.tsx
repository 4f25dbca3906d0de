// The trade-off front: unevenness against cost and against parts, the network in hand beside it.
import { useRef } from "preact/hooks";
import { standing_alone } from "../parts/copying";
import { Figure } from "../parts/Tools";
import { number, quantity } from "../parts/words";
import { axis_for, labels, placed, type Axis } from "./drawing";
import { shown, type Found, type Offer } from "./state";
import { percent } from "./words";

const WIDTH = 460;
const HEIGHT = 178;
const TOP = 12;
const BOTTOM = 40;
const SIDES: readonly [number, number][] = [
  [40, 236],
  [262, 450],
];

interface Row {
  words: string;
  offer: Offer;
}

export const rows_of = (found: Found): Row[] => [
  { words: "as it was", offer: found.voicing.before },
  ...found.voicing.short_list.map((offer, index) => ({ words: String(index + 1), offer })),
];

export function TradeOff({ found }: { found: Found }) {
  const drawing = useRef<SVGSVGElement>(null);
  const rows = rows_of(found);
  const up = axis_for(rows.map(({ offer }) => offer.goal), 4, 0);
  const y = (db: number) => placed(up, db, HEIGHT - BOTTOM, TOP);
  const currency = shown.value?.currency ?? "";
  return (
    <Figure
      title="What evenness costs"
      note="lower is more even; further left is cheaper, or has fewer parts"
      svg={() => (drawing.current ? standing_alone(drawing.current) : null)}
      table={() => table_of(rows, currency)}
    >
      <svg ref={drawing} class="drawn" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={words_of(found)}>
        <Side rows={rows} y={y} up={up} at={SIDES[0] ?? [0, 0]} of={(offer) => offer.price} title={`price, ${currency}`} numbered />
        <Side rows={rows} y={y} up={up} at={SIDES[1] ?? [0, 0]} of={(offer) => offer.parts} title="parts" />
      </svg>
    </Figure>
  );
}

interface SideProps {
  rows: Row[];
  up: Axis;
  y: (db: number) => number;
  at: readonly [number, number];
  of: (offer: Offer) => number;
  title: string;
  numbered?: boolean;
}

function Side({ rows, up, y, at, of, title, numbered = false }: SideProps) {
  const [left, right] = at;
  const along = axis_for(rows.map(({ offer }) => of(offer)), 4, 0);
  const ticks = along.ticks.filter((tick) => numbered || Number.isInteger(tick));
  const dots = rows.map(({ words, offer }) => ({ x: placed(along, of(offer), left, right), y: y(offer.goal), words }));
  const named = labels(dots, HEIGHT - BOTTOM + 3);
  return (
    <g>
      {up.ticks.map((tick) => (
        <g key={tick}>
          <line x1={left} x2={right} y1={y(tick)} y2={y(tick)} class="grid" />
          {numbered && <text x={left - 6} y={y(tick) + 4} text-anchor="end" class="mark">{number(tick, 1)}</text>}
        </g>
      ))}
      {ticks.map((tick) => (
        <text key={tick} x={placed(along, tick, left, right)} y={HEIGHT - BOTTOM + 15} text-anchor="middle" class="mark">
          {number(tick)}
        </text>
      ))}
      <text x={(left + right) / 2} y={HEIGHT - 6} text-anchor="middle" class="mark">{title}</text>
      {dots.map((dot, index) => (
        <g key={dot.words} data-network={dot.words}>
          {index ? (
            <circle cx={dot.x} cy={dot.y} r="5" class="had" />
          ) : (
            <path d={`M${dot.x - 6},${dot.y + 5} h12 l-6,-11 z`} class="before" />
          )}
          <text x={named[index]?.x} y={(named[index]?.y ?? 0) + 4.5} text-anchor="middle">{dot.words}</text>
        </g>
      ))}
    </g>
  );
}

function table_of(rows: readonly Row[], currency: string) {
  return {
    heads: ["network", "uneven", `price, ${currency}`, "parts", "within", "interval", "at least"],
    rows: rows.map(({ words, offer }) => [
      words,
      quantity(offer.goal, "dB", 3),
      offer.price.toFixed(2),
      offer.parts,
      percent(offer.yield.good),
      `${percent(offer.yield.good_interval[0])} to ${percent(offer.yield.good_interval[1])}`,
      quantity(offer.stress.load.lowest_ohm, "Ω", 1),
    ]),
  };
}

function words_of({ voicing }: Found): string {
  const told = rows_of_words(voicing.short_list);
  return `As it was: ${quantity(voicing.goal_before, "dB", 2)}, ${voicing.before.parts} parts for ${voicing.before.price.toFixed(2)}. ${told}`;
}

const rows_of_words = (offers: readonly Offer[]): string =>
  offers.map((offer, index) => `Network ${index + 1}: ${quantity(offer.goal, "dB", 2)}, ${offer.parts} parts for ${offer.price.toFixed(2)}.`).join(" ");
