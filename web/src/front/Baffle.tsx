// The front to scale, as a listener facing it sees it, and the side of the cabinet beside it.
import { computed, useSignal } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useMemo, useRef } from "preact/hooks";
import type { Cabinet, DriverPlace, PortPlace } from "../picture";
import { number } from "../parts/words";
import { cabinet, drivers, marked, ports } from "../store";
import { layout, nudge, snapped, stepped, to_pixels, type Layout, type Size } from "./geometry";
import { grab, held_of, let_go, move, shown, trouble, type Thing } from "./hold";
import { cabinet_thing, driver_thing, is_meant, port_thing } from "./things";

const ROOM = { width: 540, margin: 40, between: 46 };
const LOWEST_PX = 210;
const HIGHEST_PX = 310;
const SMALLEST_MM = 20;

/** The scale stands still while a handle of the cabinet is dragged, so that the hand stays on it. */
let frozen: Size | null = null;

const measured = computed<Size | null>(() => {
  const now = cabinet.value;
  return now && { width_mm: now.width_mm, height_mm: now.height_mm, depth_mm: now.depth_mm };
});

export function Baffle({ picture_id }: { picture_id: string }) {
  const size = measured.value;
  if (size && !held_of("cabinet")?.grabbed) frozen = size;
  const fixed = frozen ?? size;
  const height = fixed ? picture_height(fixed) : 0;
  const at = useMemo(() => fixed && layout(fixed, { ...ROOM, height }), [fixed]); // the same while it does not change
  const box = cabinet.value;
  if (!box || !at) return null;
  return (
    <svg
      id={picture_id}
      class="baffle"
      viewBox={`0 0 ${ROOM.width} ${height}`}
      role="group"
      aria-label="The front as a listener facing it sees it, and the side of the cabinet"
    >
      <Box at={at} cabinet={box} />
      <Side at={at} cabinet={box} drivers={drivers.value} />
      {ports.value.map((port) => (
        <Port key={port.way} at={at} port={port} />
      ))}
      {drivers.value.map((driver) => (
        <Driver key={driver.name} at={at} driver={driver} />
      ))}
      {ports.value.map((port) => (
        <Name key={port.way} at={at} thing={port_thing(port)} name={`port of ${port.way}`} radius_mm={port.radius_mm} />
      ))}
      {drivers.value.map((driver) => (
        <DriverName key={driver.name} at={at} driver={driver} />
      ))}
      <CabinetHandles at={at} cabinet={box} />
    </svg>
  );
}

/** As high as the cabinet asks for at full width, within limits. */
function picture_height(size: Size): number {
  const scale = (ROOM.width - 2 * ROOM.margin - ROOM.between) / (size.width_mm + size.depth_mm);
  return Math.round(Math.min(HIGHEST_PX, Math.max(LOWEST_PX, size.height_mm * scale + 2 * ROOM.margin)));
}

function outline(at: Layout, cabinet: Cabinet) {
  const thing = cabinet_thing(cabinet);
  const width = shown(thing, "width") * at.scale;
  const height = shown(thing, "height") * at.scale;
  const depth = shown(thing, "depth") * at.scale;
  const left = at.middle.x - width / 2;
  const top = at.middle.y - height / 2;
  return { width, height, depth, left, top, right: left + width, bottom: top + height, thing };
}

function Box({ at, cabinet }: { at: Layout; cabinet: Cabinet }) {
  const box = outline(at, cabinet);
  const marks: number[] = [];
  for (let mm = -Math.floor(cabinet.width_mm / 100) * 50; mm <= cabinet.width_mm / 2; mm += 50) marks.push(mm);
  const high: number[] = [];
  for (let mm = -Math.floor(cabinet.height_mm / 100) * 50; mm <= cabinet.height_mm / 2; mm += 50) high.push(mm);
  const mark = (mm: number): string => (mm % 100 === 0 ? number(mm) : "");
  return (
    <g class={marked.value?.target === "cabinet" ? "box marked" : "box"}>
      <rect class="board" x={box.left} y={box.top} width={box.width} height={box.height} rx={2} />
      <line class="middle" x1={at.middle.x} x2={at.middle.x} y1={box.top} y2={box.bottom} />
      <line class="middle" x1={box.left} x2={box.right} y1={at.middle.y} y2={at.middle.y} />
      {marks.map((mm) => (
        <g key={mm}>
          <line class="ruler" x1={at.middle.x + mm * at.scale} x2={at.middle.x + mm * at.scale} y1={box.bottom} y2={box.bottom + 5} />
          <text class="tick" x={at.middle.x + mm * at.scale} y={box.bottom + 18} text-anchor="middle">
            {mark(mm)}
          </text>
        </g>
      ))}
      {high.map((mm) => (
        <g key={mm}>
          <line class="ruler" x1={box.left - 5} x2={box.left} y1={at.middle.y - mm * at.scale} y2={at.middle.y - mm * at.scale} />
          <text class="tick" x={box.left - 8} y={at.middle.y - mm * at.scale + 4} text-anchor="end">
            {mark(mm)}
          </text>
        </g>
      ))}
    </g>
  );
}

function Side({ at, cabinet, drivers }: { at: Layout; cabinet: Cabinet; drivers: readonly DriverPlace[] }) {
  const box = outline(at, cabinet);
  const x = at.side.x;
  return (
    <g class="side" aria-hidden="true">
      <rect class="board" x={x} y={box.top} width={box.depth} height={box.height} rx={2} />
      {drivers.map((driver) => {
        const up = shown(driver_thing(driver), "up");
        const y = at.middle.y - up * at.scale;
        const half = (driver.overall_mm / 2) * at.scale;
        const back = x + driver.set_back_mm * at.scale;
        return (
          <g key={driver.name}>
            <line class="frame-edge" x1={x} x2={x} y1={y - half} y2={y + half} />
            <line class="back" x1={x} x2={back} y1={y} y2={y} />
            <circle class="centre" cx={back} cy={y} r={2.5} />
          </g>
        );
      })}
      <text class="tick" x={x + box.depth / 2} y={box.bottom + 18} text-anchor="middle">
        side, front to the left
      </text>
    </g>
  );
}

/** A drag under way: its undo step, and how far from the thing's middle it was taken hold of. */
interface Drag {
  group: string;
  offset: Record<string, number>;
  before: Record<string, number>;
}

/** Pointer and keys of one thing: dragging snaps to whole millimetres, arrows go 1 mm, with Shift 10 mm. */
function useHandle(thing: Thing, place: (x: number, y: number) => Record<string, number>) {
  const drag = useRef<Drag | null>(null);
  const inside = (event: PointerEvent): DOMPoint | null => {
    const svg = (event.currentTarget as SVGGraphicsElement).ownerSVGElement;
    const matrix = svg?.getScreenCTM();
    return matrix ? new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse()) : null;
  };
  const own = (): Record<string, number> => Object.fromEntries(thing.axes.map((axis) => [axis.name, shown(thing, axis.name)]));
  return {
    onPointerDown(event: PointerEvent) {
      const point = inside(event);
      if (!point || event.button !== 0) return;
      const target = event.currentTarget as SVGGraphicsElement;
      target.setPointerCapture(event.pointerId);
      target.focus();
      const wanted = place(point.x, point.y);
      const before = own();
      const offset = Object.fromEntries(Object.keys(wanted).map((name) => [name, (wanted[name] ?? 0) - (before[name] ?? 0)]));
      drag.current = { group: grab(thing), offset, before };
      event.preventDefault();
    },
    onPointerMove(event: PointerEvent) {
      const point = inside(event);
      const hold = drag.current;
      if (!hold || !point) return;
      const wanted = place(point.x, point.y);
      const mm = Object.fromEntries(Object.entries(wanted).map(([name, value]) => [name, snapped(value - (hold.offset[name] ?? 0))]));
      move(thing, mm, hold.group);
    },
    onPointerUp() {
      drag.current = null;
      let_go();
    },
    onLostPointerCapture() {
      if (drag.current) let_go();
      drag.current = null;
    },
    onKeyDown(event: KeyboardEvent) {
      if (event.key === "Escape" && drag.current) {
        move(thing, drag.current.before, drag.current.group);
        drag.current = null;
        let_go();
        return;
      }
      const by = nudge(event.key, event.shiftKey);
      if (!by || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      const before = own();
      const names = thing.axes.map((axis) => axis.name);
      if (names.includes("across")) {
        move(thing, by[0] ? { across: stepped(before["across"] ?? 0, by[0]) } : { up: stepped(before["up"] ?? 0, by[1]) });
        return;
      }
      const name = names[0];
      if (name) move(thing, { [name]: Math.max(SMALLEST_MM, stepped(before[name] ?? 0, by[0] + by[1])) });
    },
  };
}

function position_words(across: number, up: number): string {
  return `${number(across)} mm across, ${number(up)} mm up`;
}

function Driver({ at, driver }: { at: Layout; driver: DriverPlace }) {
  const thing = driver_thing(driver);
  const across = shown(thing, "across");
  const up = shown(thing, "up");
  const { x, y } = to_pixels(at, across, up);
  const radius = (driver.overall_mm / 2) * at.scale; // of the frame; the file and the server say diameter
  const cone = driver.radius_mm * at.scale;
  const dome = /dome|tweeter/i.test(driver.kind);
  return (
    <Round
      thing={thing}
      at={at}
      name={driver.name}
      way={driver.way}
      radius={radius}
      server={to_pixels(at, driver.across_mm, driver.up_mm)}
    >
      <circle class="rim" cx={x} cy={y} r={radius} />
      <circle class="cone" cx={x} cy={y} r={cone} />
      <circle class={dome ? "dome" : "cap"} cx={x} cy={y} r={cone * (dome ? 0.6 : 0.36)} />
    </Round>
  );
}

function Port({ at, port }: { at: Layout; port: PortPlace }) {
  const thing = port_thing(port);
  const { x, y } = to_pixels(at, shown(thing, "across"), shown(thing, "up"));
  const radius = port.radius_mm * at.scale;
  return (
    <Round
      thing={thing}
      at={at}
      name={`port of ${port.way}`}
      way={port.way}
      radius={radius}
      server={to_pixels(at, port.across_mm, port.up_mm)}
    >
      <circle class="hollow" cx={x} cy={y} r={radius} />
    </Round>
  );
}

interface RoundProps {
  thing: Thing;
  at: Layout;
  name: string;
  way: string;
  radius: number;
  server: { x: number; y: number }; // where the server has it
  children: ComponentChildren;
}

function Round({ thing, at, name, way, radius, server, children }: RoundProps) {
  const place = (x: number, y: number) => ({ across: (x - at.middle.x) / at.scale, up: (at.middle.y - y) / at.scale });
  const handle = useHandle(thing, place);
  const focused = useSignal(false);
  const across = shown(thing, "across");
  const up = shown(thing, "up");
  const { x, y } = to_pixels(at, across, up);
  const refused = trouble.value?.key === thing.key ? trouble.value : null;
  const grabbed = held_of(thing.key)?.grabbed;
  const shows = marked.value?.desk === "front" && is_meant(marked.value.target, name, way);
  const look = ["round", refused ? "no" : "", grabbed ? "grabbed" : "", shows ? "marked" : ""].filter(Boolean).join(" ");
  return (
    <g
      class={look}
      tabindex={0}
      role="button"
      aria-roledescription="movable"
      aria-label={`${name}: ${position_words(across, up)}. Arrow keys move it 1 mm, with Shift 10 mm`}
      data-thing={thing.key}
      onFocus={() => (focused.value = true)}
      onBlur={() => (focused.value = false)}
      {...handle}
    >
      {refused && grabbed && <circle class="accepted" cx={server.x} cy={server.y} r={radius} />}
      {(grabbed || focused.value) && (
        <g class="guides">
          <line x1={x} x2={x} y1={at.middle.y} y2={y} />
          <line x1={at.middle.x} x2={x} y1={y} y2={y} />
        </g>
      )}
      {children}
      <circle class="ring" cx={x} cy={y} r={radius + 4} />
    </g>
  );
}

function DriverName({ at, driver }: { at: Layout; driver: DriverPlace }) {
  return <Name at={at} thing={driver_thing(driver)} name={driver.name} radius_mm={driver.overall_mm / 2} />;
}

/** Names lie over everything round; while a thing is moved, its place stands there instead. */
function Name({ at, thing, name, radius_mm }: { at: Layout; thing: Thing; name: string; radius_mm: number }) {
  const across = shown(thing, "across");
  const up = shown(thing, "up");
  const { x, y } = to_pixels(at, across, up);
  const radius = radius_mm * at.scale;
  const words = held_of(thing.key) ? `${number(across)}, ${number(up)} mm` : name;
  const inside = radius > 34;
  const below = y + radius + 14;
  const height = inside ? y + 0.68 * radius : below < at.front.y + at.front.height - 2 ? below : y - radius - 6;
  return (
    <text class="name" x={x} y={height} text-anchor="middle" aria-hidden="true">
      {words}
    </text>
  );
}

function CabinetHandles({ at, cabinet }: { at: Layout; cabinet: Cabinet }) {
  const box = outline(at, cabinet);
  const middle = at.middle;
  return (
    <>
      <EdgeHandle name="width" thing={box.thing} x={box.right} y={middle.y} way="across" place={(x) => (2 * (x - middle.x)) / at.scale} />
      <EdgeHandle name="height" thing={box.thing} x={middle.x} y={box.top} way="up" place={(_x, y) => (2 * (middle.y - y)) / at.scale} />
      <EdgeHandle name="depth" thing={box.thing} x={at.side.x + box.depth} y={middle.y} way="across" place={(x) => (x - at.side.x) / at.scale} />
    </>
  );
}

interface EdgeProps {
  name: string;
  thing: Thing;
  x: number;
  y: number;
  way: "across" | "up";
  place: (x: number, y: number) => number;
}

function EdgeHandle({ name, thing, x, y, way, place }: EdgeProps) {
  const axis = thing.axes.filter((one) => one.name === name);
  const handle = useHandle({ key: thing.key, axes: axis }, (px, py) => ({ [name]: Math.max(SMALLEST_MM, place(px, py)) }));
  const mm = shown(thing, name);
  const refused = trouble.value?.key === thing.key;
  const [wide, high] = way === "across" ? [10, 30] : [30, 10];
  const words = `${name} ${number(mm)} mm`;
  return (
    <g
      class={refused ? "edge no" : "edge"}
      tabindex={0}
      role="slider"
      aria-orientation={way === "across" ? "horizontal" : "vertical"}
      aria-label={`${name} of the cabinet`}
      aria-valuemin={SMALLEST_MM}
      aria-valuemax={5000}
      aria-valuenow={mm}
      aria-valuetext={`${number(mm)} millimetres`}
      data-thing={`cabinet ${name}`}
      {...handle}
    >
      <rect class="ring" x={x - wide / 2 - 3} y={y - high / 2 - 3} width={wide + 6} height={high + 6} rx={7} />
      <rect class="grip" x={x - wide / 2} y={y - high / 2} width={wide} height={high} rx={5} />
      {way === "up" ? (
        <text class="size" x={x + 22} y={y - 8} text-anchor="start">
          {words}
        </text>
      ) : (
        <text class="size" x={x + 10} y={y} text-anchor="middle" transform={`rotate(90 ${x + 10} ${y})`}>
          {words}
        </text>
      )}
    </g>
  );
}
