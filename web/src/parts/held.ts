// A handle moves at once where it is dragged, and takes the server's word as soon as that is there.
import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { settled } from "../store";

/** The server's value, or the one just set until every change has its picture (or was refused: it springs back). */
export function useHeld<T>(server: T): [T, (value: T) => void] {
  const local = useSignal<{ value: T } | null>(null);
  useEffect(
    () =>
      settled.subscribe((calm) => {
        if (calm) local.value = null;
      }),
    [local],
  );
  return [local.value ? local.value.value : server, (value) => (local.value = { value })];
}
