// What the chosen seat hears, now against kept and the compared candidate, and why.
import { useSignal } from "@preact/signals";
import { Chart, type ChartLine, type ChartMark } from "../parts/Chart";
import { ShareBars } from "../parts/ShareBars";
import { level_range } from "../parts/scales";
import { frequency, hole_words, quantity, typeset } from "../parts/words";
import type { Hole, Picture, Story as StoryOf } from "../picture";
import { chosen, head, picture } from "../store";
import { seat_title } from "./Plan";

export function Story() {
  const now = picture.value;
  const told = chosen.value;
  if (!now || !told) return null;
  const { seat, row } = told;
  const name = seat_title(seat, now.head.placements.filter((place) => place.own).length > 1);
  return (
    <section class="card story" aria-labelledby="story-title">
      <div class="card-head">
        <h2 id="story-title">What {name} hears</h2>
        <small>
          spread {quantity(seat.spread_db, "dB", 1)}
          {seat.kept && <>, A {quantity(seat.kept.spread_db, "dB", 1)}</>}
          {seat.other && <>, {title_of_other()} {quantity(seat.other.spread_db, "dB", 1)}</>}
        </small>
      </div>
      <SeatChart picture={now} row={row} what="in_room" title="In the room" hole={seat.hole} />
      <SeatChart picture={now} row={row} what="direct" title="Direct sound" hole={seat.direct_hole} />
      <Why stories={seat.stories} cure={seat.cure} hole={seat.hole} />
    </section>
  );
}

export function title_of_other(): string {
  const now = head.value;
  return now?.candidates.find((candidate) => candidate.file === now.other)?.title ?? "other";
}

interface SeatChartProps {
  picture: Picture;
  row: number;
  what: "in_room" | "direct";
  title: string;
  hole: Hole | null;
}

function SeatChart({ picture: now, row, what, title, hole }: SeatChartProps) {
  const line = (prefix: string) => now.row(`${prefix}seat.${what}_db`, row);
  const known = (values: Float32Array | null) => (values && !Number.isNaN(values[0]) ? values : null);
  const lines: ChartLine[] = [
    { name: "now", values: line(""), look: "now" },
    { name: "A", values: known(line("kept.")), look: "kept" },
    { name: title_of_other(), values: known(line("other.")), look: "other" },
    { name: "trend", values: now.row(`seat.${what}_trend_db`, row), look: "trend", silent: true, judged_only: true },
  ];
  const all = ["", "kept.", "other."].flatMap((prefix) => now.array(`${prefix}seat.${what}_db`) ?? []);
  const height = what === "in_room" ? 168 : 150;
  return (
    <Chart
      title={title}
      note={hole ? `dB; deepest hole ${hole_words(hole)}` : "dB; no hole"}
      frequency_hz={now.frequency_hz}
      lines={lines}
      unit="dB"
      judged
      height={height}
      range={range_of(all, now.frequency_hz)}
      marks={hole_mark(now, line(""), hole)}
    />
  );
}

/** One axis for all seats, so that choosing another one does not move it. */
function range_of(tables: Float32Array[], frequency_hz: Float32Array): [number, number] {
  const rows = tables.flatMap((table) =>
    Array.from({ length: table.length / frequency_hz.length }, (_, index) =>
      table.subarray(index * frequency_hz.length, (index + 1) * frequency_hz.length),
    ),
  );
  return level_range(rows, frequency_hz, 25, 40);
}

function hole_mark(now: Picture, values: Float32Array | null, hole: Hole | null): ChartMark[] {
  if (!hole || !values) return [];
  let nearest = 0;
  now.frequency_hz.forEach((hz, band) => {
    if (Math.abs(Math.log(hz / hole.hz)) < Math.abs(Math.log((now.frequency_hz[nearest] ?? 1) / hole.hz))) nearest = band;
  });
  return [{ hz: hole.hz, value: values[nearest] ?? 0, look: "now" }];
}

function Why({ stories, cure, hole }: { stories: StoryOf[]; cure: string | null; hole: Hole | null }) {
  const wanted = useSignal(0);
  const story = stories[Math.min(wanted.value, stories.length - 1)];
  const late = head.value?.full === false;
  if (!story) {
    const of_the_room = hole ? "; the one in the room has its cause under “Before you print”" : "";
    const words = late ? "The causes are being worked out …" : `The direct sound has no hole here${of_the_room}.`;
    return (
      <p class="quietly whence">
        {words} {cure && `Cure: ${typeset(cure)}.`}
      </p>
    );
  }
  return (
    <div class={late ? "late" : ""} aria-busy={late}>
      <h3>
        Why the direct sound has a hole{" "}
        {stories.length === 1 && <small>{hole_words(story)}; each cause's share</small>}
      </h3>
      {stories.length > 1 && (
        <div class="holes" role="group" aria-label="Holes of the direct sound">
          {stories.map((each, index) => (
            <button type="button" class="quiet" key={each.hz} aria-pressed={each === story} onClick={() => (wanted.value = index)}>
              {quantity(-Math.abs(each.db), "dB")} at {frequency(each.hz)}
            </button>
          ))}
        </div>
      )}
      <ShareBars rows={story.shares.map((share) => ({ name: share.cause, db: share.db }))} longest_db={longest_share()} />
      <p class="quietly">{room_words(story)}</p>
      {cure && <p>Cure: {typeset(cure)}.</p>}
    </div>
  );
}

/** One scale for the causes at all seats. */
function longest_share(): number {
  const seats = head.value?.seats ?? [];
  return Math.max(...seats.flatMap((seat) => seat.stories.flatMap((story) => story.shares.map((share) => share.db))));
}

function room_words(story: StoryOf): string {
  const left = story.in_room_db > 0.05 ? `leaves ${quantity(story.in_room_db, "dB", 1)} of it` : "fills it";
  const fills = story.fills.filter((fill) => Math.abs(fill.db) >= 0.5);
  const named = fills.map((fill) => `${fill.surface} ${quantity(fill.db, "dB", 1)}`).join(", ");
  return `The room ${left}${named ? `: ${named}` : ""}.`;
}
