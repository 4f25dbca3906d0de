// Fields whose value steps with the arrow keys: Shift ten times as far, Enter takes, Escape gives back.
import { useSignal } from "@preact/signals";
import { useId } from "preact/hooks";
import { useHeld } from "./held";
import { typed_number } from "./words";

interface TextFieldProps {
  label: string;
  text: string;
  /** Take what was typed; false keeps it in the field, marked as unfit. */
  onText: (text: string) => boolean | void;
  /** The next text up (+1) or down (-1); null when there is none. */
  onStep?: (direction: 1 | -1, shift: boolean, text: string) => string | null;
  unit?: string;
  hideLabel?: boolean;
  width?: string;
  class?: string;
}

export function TextField(props: TextFieldProps) {
  const { label, text, onText, onStep, unit, hideLabel, width } = props;
  const [held, hold] = useHeld(text);
  const typed = useSignal<string | null>(null);
  const unfit = useSignal(false);
  const id = useId();
  const take = (next: string) => {
    const fits = onText(next) !== false;
    unfit.value = !fits;
    if (fits) typed.value = null;
    if (fits) hold(next);
  };
  const step = (event: KeyboardEvent, direction: 1 | -1) => {
    const next = onStep?.(direction, event.shiftKey, typed.value ?? held) ?? null;
    if (next === null) return;
    event.preventDefault();
    take(next);
  };
  const key = (event: KeyboardEvent) => {
    if ((event.ctrlKey || event.metaKey) && typed.value !== null && /^[zy]$/i.test(event.key)) event.stopPropagation();
    else if (event.key === "ArrowUp") step(event, 1);
    else if (event.key === "ArrowDown") step(event, -1);
    else if (event.key === "Enter" && typed.value !== null) take(typed.value);
    else if (event.key === "Escape") {
      typed.value = null;
      unfit.value = false;
    } else return;
    event.stopPropagation();
  };
  return (
    <span class={`field ${props.class ?? ""}`}>
      <label for={id} class={hideLabel ? "unseen" : ""}>
        {label}
      </label>
      <input
        id={id}
        type="text"
        autocomplete="off"
        spellcheck={false}
        value={typed.value ?? held}
        aria-invalid={unfit.value}
        style={width ? { width } : {}}
        onInput={(event) => (typed.value = event.currentTarget.value)}
        onBlur={() => {
          if (typed.value !== null && typed.value !== held) take(typed.value);
          else typed.value = null;
        }}
        onKeyDown={key}
      />
      {unit && (
        <span class="unit" aria-hidden="true">
          {unit}
        </span>
      )}
    </span>
  );
}

interface NumberFieldProps {
  label: string;
  value: number;
  unit: string;
  onValue: (value: number) => void;
  step?: number;
  digits?: number;
  least?: number;
  most?: number;
  hideLabel?: boolean;
  width?: string;
}

export function NumberField(props: NumberFieldProps) {
  const { value, unit, onValue, step = 1, digits = 0, least = -Infinity, most = Infinity } = props;
  const within = (wanted: number) => Math.min(most, Math.max(least, wanted));
  const { hideLabel, width } = props;
  return (
    <TextField
      label={hideLabel ? `${props.label} in ${UNIT_NAMES[unit] ?? unit}` : props.label}
      text={value.toFixed(digits).replace(/^-(0\.?0*)$/, "$1")}
      unit={unit}
      {...(hideLabel === undefined ? {} : { hideLabel })}
      {...(width === undefined ? {} : { width })}
      class="numeric"
      onText={(text) => {
        const typed = typed_number(text, unit);
        if (typed === null || typed < least || typed > most) return false;
        onValue(typed);
        return true;
      }}
      onStep={(direction, shift, text) => {
        const now = typed_number(text, unit) ?? value;
        return within(now + direction * step * (shift ? 10 : 1)).toFixed(digits);
      }}
    />
  );
}

const UNIT_NAMES: Record<string, string> = { m: "metres", mm: "millimetres", "°": "degrees", cm: "centimetres" };
