import { Front } from "../front/Front";
import { Network } from "../network/Network";
import { Seats } from "../seats/Seats";
import { desk } from "../store";

const DESKS = { seats: Seats, front: Front, network: Network };

export function App() {
  const Desk = DESKS[desk.value];
  return (
    <main>
      <Desk />
    </main>
  );
}
