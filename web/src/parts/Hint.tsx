import { useSignal } from "@preact/signals";

/** One sentence on the first visit to a desk; gone for good once it was put away. */
export function Hint({ name, words }: { name: string; words: string }) {
  const key = `forehear hint ${name}`;
  const open = useSignal(localStorage.getItem(key) === null);
  if (!open.value) return null;
  const away = () => {
    localStorage.setItem(key, "seen");
    open.value = false;
  };
  return (
    <p class="hint">
      {words}{" "}
      <button type="button" onClick={away}>
        Understood
      </button>
    </p>
  );
}
