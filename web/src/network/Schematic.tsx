// The drawing: every part a focusable group. Keys act on the part that has the focus.
import { useEffect, useMemo, useRef } from "preact/hooks";
import type { Way } from "../picture";
import { head, marked, refused } from "../store";
import { Figure, type TableData } from "../parts/Tools";
import { standing_alone } from "../parts/copying";
import { typeset } from "../parts/words";
import { AddForm, place_at, ValueEditor } from "./Overlays";
import { caption, lay_out, remark, START, type DrawnPart, type DrawnWay, type Drawing, type Gap } from "./layout";
import { shown } from "./series";
import {
  adding,
  bypass,
  chosen_part,
  find_part,
  flip,
  held,
  hovered,
  move,
  remove,
  rewire,
  step_value,
  touched,
  typing_at,
  way_key,
  ways_now,
  wish,
} from "./state";
import { DRIVER, LENGTH, RETURN, SYMBOLS } from "./symbols";
import { effects_of, key_of_path, parts_of, signed, stands_in, type Placed } from "./tree";

const LARGEST = 1.2; // of the drawing on screen, for few parts
const HEAD_ROOM = "230px"; // above and below the drawing

export function Schematic() {
  const now = head.value;
  const place = useRef<SVGSVGElement>(null);
  const values = held.value;
  const drawing = useMemo(
    () =>
      lay_out(
        ways_now(),
        now?.seats.map(({ name }) => name),
      ),
    [now?.ways, values],
  );
  useFocusWish(place, drawing);
  useMark(place);
  if (!now) return null;
  const ratio = drawing.width / drawing.height;
  const widest = `min(100%, ${Math.round(drawing.width * LARGEST)}px, max(620px, (100vh - ${HEAD_ROOM}) * ${ratio.toFixed(3)}))`;
  return (
    <Figure
      title="Network"
      note="from the amplifier to the drivers"
      svg={() => picture_of(place.current)}
      table={parts_table}
    >
      <div class="schematic" style={{ maxWidth: widest }}>
        <svg
          ref={place}
          class={now.full ? "" : "waiting"}
          viewBox={`0 0 ${drawing.width} ${drawing.height}`}
          role="group"
          aria-label="Network. Tab or the left and right arrow keys go from part to part; up and down step a value."
          onKeyDown={walk}
        >
          {drawing.ways.map((one) => (
            <WayView key={one.way.name} drawn={one} />
          ))}
        </svg>
        <ValueEditor drawing={drawing} />
        <AddForm drawing={drawing} />
        <Refusal drawing={drawing} />
        <Tip drawing={drawing} />
      </div>
    </Figure>
  );
}

function picture_of(svg: SVGSVGElement | null): string | null {
  if (!svg) return null;
  svg.classList.add("copying"); // leaves out what only serves the hand
  const text = standing_alone(svg);
  svg.classList.remove("copying");
  return text;
}

function WayView({ drawn }: { drawn: DrawnWay }) {
  const { way } = drawn;
  const is_marked = marked.value?.desk === "network" && marked.value.target === way.name;
  return (
    <g
      class={`way${is_marked ? " marked" : ""}`}
      data-way={way.name}
      transform={`translate(0 ${drawn.rail})`}
      role="group"
      aria-label={`Way ${way.name}`}
    >
      <rect
        class="band"
        x="0"
        y={drawn.top - drawn.rail - 2}
        width="100%"
        height={drawn.floor + drawn.rail - drawn.top + 16}
        rx="8"
      />
      <text class="way-name" x="8" y={drawn.floor / 2 + 1}>
        {way.name}
      </text>
      <text class="remark" x="8" y={drawn.floor / 2 + 17}>
        {way.enclosure.split(",")[0]}
        <title>{way.enclosure}</title>
      </text>
      <Terminals floor={drawn.floor} />
      <path class="wire" d={drawn.wire} />
      {drawn.joints.map(([x, y]) => (
        <circle class="joint" key={`${x} ${y}`} cx={x} cy={y} r="2.8" />
      ))}
      {drawn.gaps.map((gap) => (
        <AddMark key={gap.index} gap={gap} way={way} />
      ))}
      {drawn.parts.map((part) => (
        <PartView key={part.key} drawn={part} way={way} />
      ))}
      <Drivers drawn={drawn} />
    </g>
  );
}

function Terminals({ floor }: { floor: number }) {
  return (
    <g aria-hidden="true">
      <circle class="terminal" cx={START - 4} cy="0" r="4" />
      <circle class="terminal" cx={START - 4} cy={floor} r="4" />
      <text class="sign" x={START - 18} y="5">
        +
      </text>
      <text class="sign" x={START - 18} y={floor + 5}>
        −
      </text>
      <path class="wire" d={`M${START + 12} ${floor}v4`} />
      <path class="wire" d={RETURN} transform={`translate(${START + 12} ${floor + 4})`} />
    </g>
  );
}

/** What a screen reader says of a part: what is written beside it, then its kind and its place. */
function words_of(placed: Placed): string {
  const { part } = placed;
  const among = { step: "", chain: ", in a chain", bank: ", in parallel" }[stands_in(placed)];
  const effect = remark(part);
  const written = `${caption(part)}${effect ? ` ${effect}` : ""}${effect && !part.bypassed ? " for one step up" : ""}`;
  return `${written}; ${part.part}, ${placed.kind}${among} in way ${placed.way}`;
}

/** Beside a part under the pointer: what one step up of it does at every seat. */
function Tip({ drawing }: { drawing: Drawing }) {
  const found = find_part(hovered.value);
  const spot = found && spot_of(drawing, key_of_path(found.placed.path));
  const effects = found && !found.placed.part.bypassed ? effects_of(found.placed.part) : [];
  if (!spot || !effects.length || typing_at.value || adding.value) return null;
  return (
    <div class="overlay tip" aria-hidden="true" style={place_at(drawing, spot.x, spot.y + 4)}>
      spread, one step up
      {effects.map(({ seat, db }) => (
        <span key={seat}>
          {seat} <b>{signed(db)} dB</b>
        </span>
      ))}
    </div>
  );
}

function PartView({ drawn, way }: { drawn: DrawnPart; way: Way }) {
  const { part, upright, x, y } = drawn;
  const placed = parts_of(way).find(({ path }) => key_of_path(path) === drawn.key);
  if (!placed) return null;
  const symbol = SYMBOLS[part.part];
  const classes = ["part", part.part, part.bypassed ? "bypassed" : "", chosen_part.value === drawn.key ? "chosen" : ""];
  return (
    <g
      class={classes.join(" ").trim()}
      tabindex={0}
      role="button"
      aria-label={words_of(placed)}
      aria-keyshortcuts="Enter ArrowUp ArrowDown Delete B Alt+ArrowLeft Alt+ArrowRight Insert"
      data-key={drawn.key}
      onFocus={() => (chosen_part.value = drawn.key)}
      onPointerEnter={() => (hovered.value = drawn.key)}
      onPointerLeave={() => (hovered.value = null)}
      onClick={(event) => {
        event.currentTarget.focus();
        if (event.detail >= 2 || event.target instanceof SVGTextElement) typing_at.value = drawn.key;
      }}
      onKeyDown={(event) => part_key(event, placed, way)}
    >
      <rect class="hit" {...drawn.box} rx="6" />
      <g transform={`translate(${x} ${y})${upright ? " rotate(90)" : ""}`}>
        {symbol.body && <path class="body" d={symbol.body} />}
        {symbol.stroke && <path class="symbol" d={symbol.stroke} />}
        {part.bypassed && !upright && <path class="wire around" d={`M-6 0v14H${LENGTH + 6}v-14`} />}
      </g>
      {part.bypassed && upright && <circle class="open" cx={x} cy={y - 3.5} r="2.6" />}
      <text class="caption" x={drawn.text_x} y={drawn.text_y} text-anchor={drawn.anchor}>
        <tspan class="label">{part.label}</tspan> {shown(part.value)}
      </text>{" "}
      <text class="remark" x={drawn.text_x} y={drawn.text_y + 15} text-anchor={drawn.anchor}>
        {remark(part)}
      </text>
    </g>
  );
}

function part_key(event: KeyboardEvent, placed: Placed, way: Way): void {
  if (event.ctrlKey || event.metaKey) return;
  const key = key_of_path(placed.path);
  const series = event.shiftKey ? "E12" : "E24";
  const acts: Record<string, () => void> = event.altKey
    ? {
        ArrowLeft: () => move(placed, -1, event.shiftKey, way),
        ArrowRight: () => move(placed, 1, event.shiftKey, way),
      }
    : {
        ArrowUp: () => step_value(placed, 1, series),
        ArrowDown: () => step_value(placed, -1, series),
        Enter: () => (typing_at.value = key),
        Delete: () => remove(placed, way),
        Backspace: () => remove(placed, way),
        b: () => bypass(placed),
        p: () => flip(way),
        Insert: () => (adding.value = { way: way.name, index: step_after(placed), beside: key }),
        a: () => (adding.value = { way: way.name, index: step_after(placed), beside: key }),
      };
  const act = acts[event.key.length === 1 ? event.key.toLowerCase() : event.key];
  if (!act) return;
  event.preventDefault();
  event.stopPropagation();
  act();
}

const step_after = (placed: Placed): number => Number(placed.path[3]) + 1;

/** Left and right go from one thing to the next, as Tab does. */
function walk(event: KeyboardEvent): void {
  if (event.altKey || event.ctrlKey || event.metaKey || !/^Arrow(Left|Right)$/.test(event.key)) return;
  const svg = event.currentTarget as SVGSVGElement;
  const stops = [...svg.querySelectorAll<SVGGElement>("[tabindex='0']")];
  const at = stops.findIndex((stop) => stop === document.activeElement);
  const next = stops[at + (event.key === "ArrowLeft" ? -1 : 1)];
  if (at < 0 || !next) return;
  event.preventDefault();
  next.focus();
}

function on_press(act: () => void) {
  return (event: KeyboardEvent): void => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    event.stopPropagation();
    act();
  };
}

function AddMark({ gap, way }: { gap: Gap; way: Way }) {
  const open = () => (adding.value = { way: way.name, index: gap.index, beside: null });
  const label = `Add a part to way ${way.name}, ${gap.index === 0 ? "first" : `after step ${gap.index}`}`;
  return (
    <g
      class="gap"
      tabindex={0}
      role="button"
      aria-label={label}
      data-gap={`${way.name} ${gap.index}`}
      transform={`translate(${gap.x} ${gap.y})`}
      onClick={open}
      onKeyDown={on_press(open)}
    >
      <title>{label}</title>
      <rect class="hit" x="-12" y="-12" width="24" height="24" rx="12" />
      <circle r="7.5" />
      <path d="M-3.5 0H3.5M0 -3.5V3.5" />
    </g>
  );
}

function Drivers({ drawn }: { drawn: DrawnWay }) {
  const { way } = drawn;
  const turned = way.polarity === "reversed";
  return (
    <>
      {drawn.drivers.map((driver) => (
        <g key={driver.name}>
          <g aria-hidden="true" transform={`translate(${driver.x} ${driver.y})`}>
            <path class="body" d={DRIVER.magnet} />
            <path class="body" d={DRIVER.cone} />
          </g>
          <text class="driver-name" x={driver.x + 25} y={driver.y + 5}>
            {driver.name}
          </text>
        </g>
      ))}
      <Polarity drawn={drawn} turned={turned} />
      {way.drivers.length > 1 && <Wiring drawn={drawn} />}
    </>
  );
}

/** The marks at the driver's terminals; pressing them swaps them. */
function Polarity({ drawn, turned }: { drawn: DrawnWay; turned: boolean }) {
  const { way } = drawn;
  const flip_it = () => flip(way);
  const first = drawn.drivers[0];
  const last = drawn.drivers.at(-1);
  if (!first || !last) return null;
  const x = first.x - 13;
  const [upper, lower] = [first.y - 14, last.y + 22];
  return (
    <g
      class={`polarity${turned ? " turned" : ""}`}
      tabindex={0}
      role="button"
      aria-pressed={turned}
      aria-keyshortcuts="P"
      aria-label={`Polarity of way ${way.name} reversed`}
      data-polarity={way.name}
      onClick={flip_it}
      onKeyDown={(event) => {
        if (event.key.toLowerCase() === "p" && !event.ctrlKey && !event.metaKey) flip_it();
        else on_press(flip_it)(event);
      }}
    >
      <title>{`Polarity of way ${way.name} reversed`}</title>
      <rect class="hit" x={x - 11} y={upper - 17} width="22" height={lower - upper + 23} rx="6" />
      <text class="sign" x={x} y={upper} text-anchor="middle">
        {turned ? "−" : "+"}
      </text>
      <text class="sign" x={x} y={lower} text-anchor="middle">
        {turned ? "+" : "−"}
      </text>
    </g>
  );
}

function Wiring({ drawn }: { drawn: DrawnWay }) {
  const { way } = drawn;
  const wire_it = () => rewire(way);
  const label = `Drivers of way ${way.name} in ${way.wired}; press to change`;
  const first = drawn.drivers[0];
  if (!first) return null;
  return (
    <g
      class="wiring"
      tabindex={0}
      role="button"
      aria-keyshortcuts="W"
      aria-label={label}
      data-wiring={way.name}
      onClick={wire_it}
      onKeyDown={(event) => {
        if (event.key.toLowerCase() === "w" && !event.ctrlKey && !event.metaKey) wire_it();
        else on_press(wire_it)(event);
      }}
    >
      <rect class="hit" x={first.x + 21} y={first.y + 8} width="74" height="20" rx="6" />
      <text class="remark link" x={first.x + 25} y={first.y + 22}>
        in {way.wired}
      </text>
    </g>
  );
}

/** The server's sentence, at the thing it is about; the bar above says it aloud. */
function Refusal({ drawing }: { drawing: Drawing }) {
  const news = refused.value;
  const spot = news && touched.value ? spot_of(drawing, touched.value) : null;
  if (!news || !spot) return null;
  return (
    <div class="overlay refusal" style={place_at(drawing, spot.x, spot.y)}>
      <strong>{typeset(news.what)}</strong>
      <br />
      {typeset(news.cure)}
    </div>
  );
}

function spot_of(drawing: Drawing, key: string): { x: number; y: number } | null {
  for (const way of drawing.ways) {
    const part = way.parts.find((one) => one.key === key);
    if (part) return { x: part.box.x, y: way.rail + part.box.y + part.box.height };
    const driver = way.drivers[0];
    if (key === way_key(way.way)) return { x: (driver?.x ?? START) - 60, y: way.rail + way.floor };
  }
  return { x: START, y: 20 };
}

/** After a part has moved, come or gone, the focus goes where the hand would look for it. */
function useFocusWish(place: { current: SVGSVGElement | null }, drawing: Drawing): void {
  useEffect(() => {
    const wanted = wish.value;
    if (!wanted || (head.value?.seq ?? 0) < wanted.seq) return;
    wish.value = null;
    const key = "key" in wanted.what ? wanted.what.key : nth_part(drawing, wanted.what.way, wanted.what.index);
    const stops = [...(place.current?.querySelectorAll<SVGGElement>("[data-key], [data-gap]") ?? [])];
    const first_gap = "way" in wanted.what ? `${wanted.what.way} 0` : "";
    const found = stops.find((one) => (key ? one.dataset["key"] === key : one.dataset["gap"] === first_gap));
    found?.focus();
    if (!key) chosen_part.value = null;
  });
}

function nth_part(drawing: Drawing, name: string, index: number): string | null {
  const parts = parts_of(drawing.ways.find(({ way }) => way.name === name)?.way ?? { ...NOTHING });
  const placed = parts[Math.min(index, parts.length - 1)];
  return placed ? key_of_path(placed.path) : null;
}

const NOTHING: Way = { name: "", drivers: [], wired: "", polarity: "", enclosure: "", steps: [] };

/** Bring what a finding's Show points at into view. */
function useMark(place: { current: SVGSVGElement | null }): void {
  const target = marked.value?.desk === "network" ? marked.value.target : null;
  useEffect(() => {
    if (!target) return;
    const rows = [...(place.current?.querySelectorAll<SVGGElement>("[data-way]") ?? [])];
    const row = rows.find((one) => one.dataset["way"] === target);
    row?.scrollIntoView({ block: "center" });
    row?.querySelector<SVGGElement>("[data-key], [data-gap]")?.focus();
  }, [target]);
}

/** All parts as a table, with what one step of each does at every seat. */
function parts_table(): TableData {
  const rows = (head.value?.ways ?? []).flatMap(parts_of);
  const seats = [...new Set(rows.flatMap(({ part }) => effects_of(part).map(({ seat }) => seat)))];
  return {
    heads: ["part", "kind", "value", "way", "step", "state", ...seats.map((seat) => `${seat}, dB`)],
    rows: rows.map((placed) => {
      const effects = new Map(effects_of(placed.part).map(({ seat, db }) => [seat, signed(db)]));
      return [
        placed.part.label,
        placed.part.part,
        shown(placed.part.value),
        placed.way,
        `${Number(placed.path[3]) + 1}, ${placed.kind}`,
        placed.part.bypassed ? "bypassed" : "in use",
        ...seats.map((seat) => effects.get(seat) ?? "–"),
      ];
    }),
  };
}
