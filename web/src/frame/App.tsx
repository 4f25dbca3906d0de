import { signal } from "@preact/signals";
import type { ComponentType } from "preact";
import { useEffect } from "preact/hooks";
import { Front } from "../front/Front";
import { Network } from "../network/Network";
import { Seats } from "../seats/Seats";
import { desk, head, said, there } from "../store";
import { Dropped, Dropping } from "./Dropping";
import { Header } from "./Header";
import { Messages } from "./Messages";

const DESKS = { seats: Seats, front: Front, network: Network, listen: Late };

/** The Listen desk loads when somebody goes there: by its plain name, for the builder's own way weighs more than it. */
const late = signal<ComponentType<{ revision: number }> | null>(null);
const LISTEN = "/static/listen.js";

function Late() {
  useEffect(() => void import(/* @vite-ignore */ LISTEN).then((found: typeof import("../listen/Listen")) => (late.value = found.default)), []);
  const Listen = late.value;
  return Listen ? <Listen revision={head.value?.revision ?? 0} /> : <p class="desk quietly">Loading …</p>;
}

export function App() {
  const Desk = DESKS[desk.value];
  return (
    <>
      <Header />
      <Messages />
      <Dropped />
      <main>{there.value ? <Desk /> : <p class="desk quietly">Waiting for the first picture …</p>}</main>
      <Dropping />
      <p class="toast" role="status">
        {said.value}
      </p>
    </>
  );
}
