// What the room does: how clear speech is, and what turning, treating and moving would do.
import { useRef } from "preact/hooks";
import { standing_alone } from "../parts/copying";
import { straight_ticks } from "../parts/scales";
import { Figure } from "../parts/Tools";
import { number, quantity, typeset } from "../parts/words";
import type { PictureHead, Range, RoomStory, Together } from "../picture";
import { chosen, head } from "../store";
import { seat_title } from "./Plan";

const WIDTH = 460;
const HEIGHT = 170;
const LEFT = 34;
const RIGHT = 96;
const TOP = 8;
const BOTTOM = 26;
const CHANGES_SHOWN = 6;

export function RoomCard() {
  const now = head.value;
  if (!now) return null;
  return (
    <section class="card in-room" aria-labelledby="room-title">
      <h2 id="room-title">What the room does</h2>
      <Speech now={now} />
      {now.story ? <Turning now={now} story={now.story} /> : <p class="quietly">Turns, moves and treated walls are being tried …</p>}
      {now.story && <Changes story={now.story} />}
      {now.together && <All together={now.together} />}
    </section>
  );
}

const several = (now: PictureHead) => now.placements.filter((place) => place.own).length > 1;

function Speech({ now }: { now: PictureHead }) {
  const spoken = now.seats.find((seat) => seat.heard)?.heard?.speech;
  if (!spoken) return <p class="quietly">How clear speech is there is being worked out …</p>;
  return (
    <>
      <div class="wide">
        <table class="sure">
          <thead>
            <tr>
              <th scope="col">seat</th>
              <th scope="col">spread</th>
              <th scope="col">clarity C50</th>
              <th scope="col">with noise, U50</th>
              <th scope="col">speech, STI</th>
              {now.story && <th scope="col">head moved 10 cm</th>}
            </tr>
          </thead>
          <tbody>
            {now.seats.map((seat, index) => (
              <tr key={`${seat.placement} ${seat.name}`}>
                <th scope="row">{seat_title(seat, several(now))}</th>
                <Sure value={seat.spread_db} between={seat.heard?.ranges?.spread_db} unit="dB" digits={1} />
                <Sure value={seat.heard?.c50_db} between={seat.heard?.ranges?.c50_db} unit="dB" digits={1} clarity_at={seat.name} />
                <Sure value={seat.heard?.u50_db} between={seat.heard?.ranges?.u50_db} unit="dB" digits={1} />
                <Sure value={seat.heard?.sti} between={seat.heard?.ranges?.sti} unit={seat.heard?.speech.rating ?? ""} digits={2} />
                {now.story && <td>up to {quantity(now.story.head_moved_db[index] ?? 0, "dB", 1)}</td>}
              </tr>
            ))}
          </tbody>
        </table>
      </div>
      <p class="quietly">
        Below each number: between which values it lies, nine times of ten{unsure(now)}. C50 and U50 are means of 500 Hz to 4 kHz; about 1 dB of them, and 0.03 of STI, is the least that is heard. Speech{" "}
        {quantity(spoken.level_db_a, "dB(A)")} and noise {quantity(spoken.noise_db_a, "dB(A)")} at {now.seats[0]?.name}.
      </p>
    </>
  );
}

/** What makes the chosen seat's spread least sure, in words. */
function unsure(now: PictureHead): string {
  const because = now.seats[chosen.value?.row ?? 0]?.heard?.unsure_because?.[0];
  return because ? `; the spread of ${chosen.value?.seat.name} hangs most on ${because.what}` : "";
}

interface SureProps {
  value: number | undefined;
  between: Range | undefined;
  unit: string;
  digits: number;
  /** Names the cell. */
  clarity_at?: string;
}

/** A number, and below it between which values it lies; dots where it is not known yet. */
function Sure({ value, between, unit, digits, clarity_at }: SureProps) {
  if (value === undefined) return <td>…</td>;
  return (
    <td data-clarity={clarity_at}>
      {quantity(value, unit, digits)}
      {between && (
        <small>
          {number(between[0], digits)} to {number(between[1], digits)}
        </small>
      )}
    </td>
  );
}

/** Spread against turn, a line a seat; the chosen one strong, each named at its right end. */
function Turning({ now, story }: { now: PictureHead; story: RoomStory }) {
  const drawing = useRef<SVGSVGElement>(null);
  const rows = of_the_chosen(now);
  const all = rows.flatMap((index) => story.spread_db[index] ?? []);
  const high = Math.ceil(Math.max(...all) + 0.1);
  const [first, last] = [story.turn_deg[0] ?? 0, story.turn_deg[story.turn_deg.length - 1] ?? 0];
  const x = (turn: number) => LEFT + ((turn - first) / (last - first)) * (WIDTH - LEFT - RIGHT);
  const y = (spread: number) => TOP + (1 - spread / high) * (HEIGHT - TOP - BOTTOM);
  const ends = apart(rows.map((index) => y(story.spread_db[index]?.at(-1) ?? 0)));
  const table = () => ({
    heads: ["turned by", ...rows.map((index) => now.seats[index]?.name ?? "")],
    rows: story.turn_deg.map((turn, step) => [
      `${number(turn)}°`,
      ...rows.map((index) => quantity(story.spread_db[index]?.[step] ?? 0, "dB", 1)),
    ]),
  });
  const placement = several(now) ? chosen.value?.seat.placement : "the speaker";
  return (
    <Figure
      title={`Spread when ${placement} is turned`}
      note="counter-clockwise seen from above; 0° is as it stands"
      svg={() => (drawing.current ? standing_alone(drawing.current) : null)}
      table={table}
    >
      <svg ref={drawing} class="turning" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} role="img" aria-label={turning_words(now, story)}>
        {straight_ticks(0, high, 4).map((tick) => (
          <g key={tick}>
            <line x1={LEFT} x2={WIDTH - RIGHT} y1={y(tick)} y2={y(tick)} class="grid" />
            <text x={LEFT - 6} y={y(tick) + 4} text-anchor="end" class="tick">{number(tick)}</text>
          </g>
        ))}
        {story.turn_deg.filter((turn) => turn % 20 === 0).map((turn) => (
          <text key={turn} x={x(turn)} y={HEIGHT - 8} text-anchor="middle" class="tick">{number(turn)}°</text>
        ))}
        <line x1={x(0)} x2={x(0)} y1={TOP} y2={HEIGHT - BOTTOM} class="now" />
        {rows.map((index, place) => (
          <g key={index} class={chosen.value?.row === index ? "line chosen" : "line"}>
            <polyline points={(story.spread_db[index] ?? []).map((spread, step) => `${x(story.turn_deg[step] ?? 0)},${y(spread)}`).join(" ")} />
            <text x={WIDTH - RIGHT + 5} y={(ends[place] ?? 0) + 4}>{now.seats[index]?.name}</text>
          </g>
        ))}
      </svg>
      <p class="quietly">{turning_words(now, story)}</p>
    </Figure>
  );
}

/** Rows of the seats that hear the same placement as the chosen one. */
function of_the_chosen(now: PictureHead): number[] {
  const placement = chosen.value?.seat.placement;
  return now.seats.flatMap((seat, index) => (seat.placement === placement ? [index] : []));
}

/** Moves labels apart that would lie on each other. */
export function apart(places: readonly number[], least = 13): number[] {
  const order = places.map((_, index) => index).sort((one, other) => (places[one] ?? 0) - (places[other] ?? 0));
  const moved = [...places];
  order.forEach((index, rank) => {
    const before = order[rank - 1];
    if (before !== undefined) moved[index] = Math.max(moved[index] ?? 0, (moved[before] ?? 0) + least);
  });
  return moved;
}

function turning_words(now: PictureHead, story: RoomStory): string {
  const seat = chosen.value;
  if (!seat) return "";
  const row = story.spread_db[seat.row] ?? [];
  const usual = story.turn_deg.indexOf(0);
  const best = row.indexOf(Math.min(...row));
  const turn = story.turn_deg[best] ?? 0;
  const gained = (row[usual] ?? 0) - (row[best] ?? 0);
  if (turn === 0 || gained < 0.1) return `For ${seat.seat.name} no turn gains anything.`;
  const others = of_the_chosen(now)
    .map((index) => ({ index, more: (story.spread_db[index]?.[best] ?? 0) - (story.spread_db[index]?.[usual] ?? 0) }))
    .filter(({ index, more }) => index !== seat.row && Math.abs(more) >= 0.1)
    .map(({ index, more }) => `${now.seats[index]?.name} ${more > 0 ? "loses" : "gains"} ${quantity(Math.abs(more), "dB", 1)}`);
  const way = turn > 0 ? "counter-clockwise" : "clockwise";
  return `Turned ${number(Math.abs(turn))}° ${way}, ${seat.seat.name} gains ${quantity(gained, "dB", 1)}${others.length ? `; ${others.join(", ")}` : ""}.`;
}

function Changes({ story }: { story: RoomStory }) {
  const told = chosen.value;
  if (!told) return null;
  const usual = told.seat.spread_db;
  const best = [...story.changes].sort((one, other) => gain(other, usual, told.row) - gain(one, usual, told.row));
  return (
    <>
      <h3>
        What would help {told.seat.name} <small>its spread, and what the mean over all seats gains</small>
      </h3>
      <table class="changes">
        <tbody>
          {best.slice(0, CHANGES_SHOWN).map((change) => (
            <tr key={change.doing}>
              <th scope="row">{typeset(change.doing)}</th>
              <td>{quantity(change.spread_db[told.row] ?? 0, "dB", 1)}</td>
              <td>{change.gained_db >= 0 ? "+" : ""}{number(change.gained_db, 1)} dB</td>
            </tr>
          ))}
        </tbody>
      </table>
      <p class="quietly">
        A treated surface swallows 80 % at all frequencies, as thick porous panels would.
      </p>
    </>
  );
}

/** Several speakers: what each seat hears of all of them, and how one fits the others. */
function All({ together }: { together: Together }) {
  return (
    <>
      <h3>
        All speakers at once <small>each playing something of its own: spread, dB</small>
      </h3>
      <div class="wide">
        <table>
          <thead>
            <tr>
              <th scope="col">from</th>
              {together.seats.map((seat) => (
                <th scope="col" key={seat}>{seat}</th>
              ))}
            </tr>
          </thead>
          <tbody>
            {together.each.map((playing) => (
              <tr key={playing.placement}>
                <th scope="row">{playing.placement}, {playing.title}</th>
                {playing.spread_db.map((spread, index) => (
                  <td key={index}>{number(spread, 1)}</td>
                ))}
              </tr>
            ))}
            <tr>
              <th scope="row">together</th>
              {together.sum_spread_db.map((spread, index) => (
                <td key={index}>{number(spread, 1)}</td>
              ))}
            </tr>
          </tbody>
        </table>
      </div>
      {together.fits.map((fit) => (
        <p class="quietly" key={`${fit.placement} ${fit.seat}`}>
          At {fit.seat}, {fit.placement} is {quantity(Math.abs(fit.louder_db), "dB", 1)} {fit.louder_db >= 0 ? "louder" : "softer"} than{" "}
          {fit.others.join(" and ")}; in timbre {quantity(fit.timbre_db, "dB", 1)} rms apart.
        </p>
      ))}
    </>
  );
}

function gain(change: { spread_db: number[] }, usual: number, row: number): number {
  return usual - (change.spread_db[row] ?? usual);
}
