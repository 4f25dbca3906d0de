// The door to the Voice panel: its code is fetched when it is opened for the first time.
import { signal } from "@preact/signals";
import type { ComponentType } from "preact";

const open = signal(false);
const Panel = signal<ComponentType | null>(null);

export function Voicing() {
  const press = async () => {
    open.value = !open.value;
    Panel.value ??= await (await import("../voice/Voice")).dressed;
  };
  return (
    <>
      <p class="door">
        <button type="button" aria-expanded={open.value} onClick={press}>
          Voice
        </button>{" "}
        <small>find the network; how sure builds are; what parts bear</small>
      </p>
      {open.value && Panel.value && <Panel.value />}
    </>
  );
}
