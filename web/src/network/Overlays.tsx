// What lies over the drawing for a moment: the field for a value, and the form for a new part.
import { useSignal } from "@preact/signals";
import { useLayoutEffect, useRef } from "preact/hooks";
import type { Way } from "../picture";
import { head } from "../store";
import { TextField } from "../parts/Fields";
import type { Drawing } from "./layout";
import { FIRST_VALUE, step_written, tidy_typed, type PartKind } from "./series";
import { add, adding, find_part, typing_at, value_now, way_key, write_value } from "./state";
import { add_beside, add_step, key_of_path, type StepKind } from "./tree";

/** A place of the drawing as a place over it, whatever its scale. */
export function place_at(drawing: Drawing, x: number, y: number): Record<string, string> {
  const left = (100 * x) / drawing.width;
  const side = left > 55 ? { right: `${Math.max(0, 100 - left - 18)}%` } : { left: `${left}%` };
  return { ...side, top: `${(100 * y) / drawing.height}%` };
}

/** Put the focus back on a thing of the drawing. */
function focus_on(attribute: "key" | "gap", value: string): void {
  const all = [...document.querySelectorAll<SVGGElement>(`.schematic [data-${attribute}]`)];
  all.find((one) => one.dataset[attribute] === value)?.focus();
}

/** Close after the field has had its own say about the key. */
function later(act: () => void): void {
  setTimeout(act, 0);
}

export function ValueEditor({ drawing }: { drawing: Drawing }) {
  const place = useRef<HTMLDivElement>(null);
  const key = typing_at.value;
  const found = find_part(key);
  useLayoutEffect(() => {
    const input = place.current?.querySelector("input");
    input?.focus();
    input?.select();
  }, [key]);
  if (!key || !found) return null;
  const { placed } = found;
  const row = drawing.ways.find(({ way }) => way.name === placed.way);
  const part = row?.parts.find((one) => one.key === key);
  if (!row || !part) return null;
  const close = () => {
    typing_at.value = null;
    focus_on("key", key);
  };
  const x = part.anchor === "middle" ? part.box.x : part.text_x - 4;
  return (
    <div
      ref={place}
      class="overlay typing"
      style={place_at(drawing, x, row.rail + part.text_y - 22)}
      onKeyDownCapture={(event) => {
        if (event.key === "Escape") later(close);
        if (event.key === "Enter" && !event.isComposing) {
          later(() => {
            if (place.current?.querySelector("[aria-invalid='true']") === null) close();
          });
        }
      }}
      onFocusOut={(event) => {
        if (!event.currentTarget.contains(event.relatedTarget as Node | null))
          later(() => {
            if (typing_at.value === key) typing_at.value = null;
          });
      }}
    >
      <TextField
        label={`Value of ${placed.part.label}`}
        hideLabel
        text={value_now(placed.part)}
        width="7.5em"
        onText={(text) => write_value(placed, text)}
        onStep={(direction, shift, text) =>
          step_written(tidy_typed(text, placed.part.part), direction, shift ? "E12" : "E24")
        }
      />
    </div>
  );
}

const KINDS: readonly PartKind[] = ["coil", "capacitor", "resistor"];
type How = StepKind | "chain" | "bank";

interface Choice<T extends string> {
  name: string;
  legend: string;
  options: readonly { value: T; words: string }[];
  chosen: T;
  choose: (value: T) => void;
}

function Choices<T extends string>({ name, legend, options, chosen, choose }: Choice<T>) {
  return (
    <fieldset>
      <legend>{legend}</legend>
      {options.map(({ value, words }) => (
        <label key={value}>
          <input type="radio" name={name} value={value} checked={chosen === value} onChange={() => choose(value)} />
          {words}
        </label>
      ))}
    </fieldset>
  );
}

export function AddForm({ drawing }: { drawing: Drawing }) {
  const wanted = adding.value;
  const way = head.value?.ways.find(({ name }) => name === wanted?.way);
  if (!wanted || !way) return null;
  return (
    <AddAt
      key={`${wanted.way} ${wanted.index} ${wanted.beside}`}
      drawing={drawing}
      way={way}
      index={wanted.index}
      beside={wanted.beside}
    />
  );
}

interface AddAtProps {
  drawing: Drawing;
  way: Way;
  index: number;
  beside: string | null;
}

function AddAt({ drawing, way, index, beside }: AddAtProps) {
  const how = useSignal<How>("series");
  const kind = useSignal<PartKind>("capacitor");
  const value = useSignal(FIRST_VALUE.capacitor);
  const form = useRef<HTMLFormElement>(null);
  useLayoutEffect(() => {
    form.current?.querySelector<HTMLInputElement>("input:checked")?.focus();
    form.current?.scrollIntoView({ block: "nearest" });
  }, []);
  const next_to = find_part(beside)?.placed ?? null;
  const label = next_to?.part.label ?? "";
  const options: { value: How; words: string }[] = [
    { value: "series", words: "in series, along the rail" },
    { value: "shunt", words: "as a shunt, down to the return" },
    ...(next_to
      ? [
          { value: "chain" as const, words: `in a chain with ${label}` },
          { value: "bank" as const, words: `across ${label}, in parallel` },
        ]
      : []),
  ];
  const close = () => {
    adding.value = null;
    if (beside) focus_on("key", beside);
    else focus_on("gap", `${way.name} ${index}`);
  };
  const submit = (event: Event) => {
    event.preventDefault();
    const text = tidy_typed(value.value, kind.value);
    const manner = how.value;
    if ((manner === "chain" || manner === "bank") && next_to) {
      const { message, path } = add_beside(next_to, manner, kind.value, text);
      add(message, key_of_path(next_to.path), { key: key_of_path(path) });
    } else if (manner === "series" || manner === "shunt") {
      const made = ["ways", way.name, "network", way.steps.length ? index : 0, manner];
      add(add_step(way, index, manner, kind.value, text), way_key(way), { key: key_of_path(made) });
    }
  };
  const spot = spot_of(drawing, way, index, beside);
  return (
    <form
      ref={form}
      class="overlay adding"
      aria-label={`Add a part to way ${way.name}`}
      style={place_at(drawing, spot.x, spot.y)}
      onSubmit={submit}
      onKeyDown={(event) => {
        if (event.key === "Escape") close();
      }}
    >
      <Choices
        name="part"
        legend="Part"
        options={KINDS.map((one) => ({ value: one, words: one }))}
        chosen={kind.value}
        choose={(next) => {
          if (value.value === FIRST_VALUE[kind.value]) value.value = FIRST_VALUE[next];
          kind.value = next;
        }}
      />
      <Choices name="how" legend="Place" options={options} chosen={how.value} choose={(next) => (how.value = next)} />
      <TextField
        label="Value"
        text={value.value}
        onText={(text) => {
          value.value = text;
        }}
        onStep={(direction, shift, text) =>
          step_written(tidy_typed(text, kind.value), direction, shift ? "E12" : "E24")
        }
      />
      <p class="buttons">
        <button type="submit" class="main">
          Add {kind.value}
        </button>
        <button type="button" onClick={close}>
          Cancel
        </button>
      </p>
    </form>
  );
}

function spot_of(drawing: Drawing, way: Way, index: number, beside: string | null): { x: number; y: number } {
  const row = drawing.ways.find((one) => one.way.name === way.name);
  const part = row?.parts.find((one) => one.key === beside);
  if (row && part) return { x: part.box.x, y: row.rail + part.box.y + part.box.height };
  return { x: row?.gaps.find((gap) => gap.index === index)?.x ?? 0, y: (row?.rail ?? 0) + 14 };
}
