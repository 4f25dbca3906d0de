// The Front desk: the baffle to scale, the level map of either orbit, and the standard curves.
import { standing_alone } from "../parts/copying";
import { Hint } from "../parts/Hint";
import { FREQUENCY_TICKS, nearest_band, tick_label } from "../parts/scales";
import { Figure, type TableData } from "../parts/Tools";
import { number } from "../parts/words";
import { title_of_other } from "../seats/Story";
import { cabinet, head, picture, there } from "../store";
import { Baffle } from "./Baffle";
import { coverage_words } from "./coverage";
import { IndexCurves, LevelCurves } from "./Curves";
import "./front.css";
import { HoleList } from "./HoleList";
import { orbit, whose } from "./look";
import { map_svg, MapView, pointed_words, shown_whose } from "./MapView";
import { Plan } from "./Plan";
import { CabinetSizes, NoWhileHeld, Places } from "./Sizes";

const BAFFLE = "baffle-picture";
const MAP = "map-picture";

export function Front() {
  if (!there.value) return null;
  return (
    <>
      <Hint name="front" words="Drag a driver, or focus it and press the arrow keys; the map beside it answers at once." />
      <div class="desk front">
        <div class="columns">
          <section class="card shape" aria-label="The front">
            <FrontFigure />
            <Places />
            <CabinetSizes />
          </section>
        </div>
        <div class="columns">
          <section class="card around" aria-label="What it sends around">
            <MapFigure />
            <CoverageNote />
            <HoleList />
          </section>
          <section class="card curves" aria-label="Standard curves and directivity indices">
            <LevelCurves />
            <IndexCurves />
          </section>
        </div>
      </div>
    </>
  );
}

function CoverageNote() {
  const words = coverage_words(head.value?.coverage, orbit.value);
  return shown_whose.value || !words ? null : <p class="note">{words}</p>;
}

function FrontFigure() {
  const box = cabinet.value;
  if (!box) return null;
  const { width_mm, height_mm, depth_mm } = box;
  return (
    <Figure
      title="Front"
      note={`${number(width_mm)} × ${number(height_mm)} × ${number(depth_mm)} mm, as a listener facing it sees it`}
      svg={() => drawn(BAFFLE)}
    >
      <div class="baffle-place">
        <Baffle picture_id={BAFFLE} />
        <NoWhileHeld />
      </div>
    </Figure>
  );
}

function MapFigure() {
  const of = WHOSE[shown_whose.value]();
  const lines = shown_whose.value ? "" : "; white lines: 6 dB below";
  return (
    <Figure
      title={`Level around, ${orbit.value} orbit${of ? `, ${of}` : ""}`}
      note={`0 dB = on axis${lines}`}
      svg={() => map_svg(MAP)}
      table={() => map_table()}
    >
      <div class="map-bar">
        <Choice label="Orbit" names={["horizontal", "vertical"]} chosen={orbit.value} choose={(name) => (orbit.value = name)} words={(name) => name} />
        <WhoseChoice />
        <p class="readout">{pointed_words() || "Point at the map: angle, frequency and level stand here."}</p>
      </div>
      <div class="map-and-plan">
        <MapView picture_id={MAP} />
        <Plan />
      </div>
    </Figure>
  );
}

const WHOSE = { "": () => "", "kept.": () => "A", "other.": () => title_of_other() };

/** Now against A, or against the compared candidate; only where there is something to compare with. */
function WhoseChoice() {
  const now = picture.value;
  const names = (["", "kept.", "other."] as const).filter((name) => now?.has(`${name}orbit.${orbit.value}_db`));
  if (names.length < 2) return null;
  return (
    <Choice label="Design" names={names} chosen={shown_whose.value} choose={(name) => (whose.value = name)} words={(name) => WHOSE[name]() || "now"} />
  );
}

interface ChoiceProps<T extends string> {
  label: string;
  names: readonly T[];
  chosen: T;
  choose: (name: T) => void;
  words: (name: T) => string;
}

function Choice<T extends string>({ label, names, chosen, choose, words }: ChoiceProps<T>) {
  return (
    <div class="choice" role="group" aria-label={label}>
      {names.map((name) => (
        <button key={name} type="button" aria-pressed={chosen === name} onClick={() => choose(name)}>
          {words(name)}
        </button>
      ))}
    </div>
  );
}

function drawn(id: string): string | null {
  const svg = document.getElementById(id);
  return svg instanceof SVGSVGElement ? standing_alone(svg) : null;
}

/** The map as numbers: every 30 degrees, at the ticks of the frequency axis (nearest band). */
function map_table(): TableData {
  const now = picture.value;
  const levels = now?.array(`${shown_whose.value}orbit.${orbit.value}_db`);
  const angles = now?.array("angle_deg");
  if (!now || !levels || !angles) return { heads: [], rows: [] };
  const bands = FREQUENCY_TICKS.map((hz) => nearest_band(now.frequency_hz, hz));
  const wide = now.frequency_hz.length;
  const rows = Array.from(angles, (deg, row) => ({ deg: Math.round(deg), row }))
    .filter(({ deg }) => deg % 30 === 0)
    .reverse()
    .map(({ deg, row }) => [`${number(deg)}°`, ...bands.map((band) => number(levels[row * wide + band] ?? NaN, 1))]);
  return { heads: ["angle", ...FREQUENCY_TICKS.map((hz) => `${tick_label(hz)} Hz`)], rows };
}
