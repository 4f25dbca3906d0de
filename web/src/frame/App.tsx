import { Front } from "../front/Front";
import { Network } from "../network/Network";
import { Seats } from "../seats/Seats";
import { desk, said, there } from "../store";
import { Dropped, Dropping } from "./Dropping";
import { Header } from "./Header";
import { Messages } from "./Messages";

const DESKS = { seats: Seats, front: Front, network: Network };

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
