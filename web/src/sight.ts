// What of the picture is in view, told to the server whenever it changes.
import { effect } from "@preact/signals";
import { orbit } from "./front/look";
import type { DeskName } from "./picture";
import { desk, look, online } from "./store";

const SEEN: Record<DeskName, () => string[]> = {
  seats: () => ["seats"],
  front: () => ["direct", "curves", orbit.value],
  network: () => ["network"],
  listen: () => [],
};

effect(() => {
  if (online.value) look(SEEN[desk.value]());
});
