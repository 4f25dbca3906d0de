// The Seats desk: the room with its seats, what one of them hears and why, and what to know before printing.
import { Hint } from "../parts/Hint";
import { Changes } from "./Changes";
import { Findings } from "./Findings";
import { Plan } from "./Plan";
import { RoomCard } from "./RoomCard";
import { SeatTable } from "./SeatTable";
import { Story } from "./Story";
import "./seats.css";

export function Seats() {
  return (
    <>
      <Hint
        name="seats"
        words="Drag a seat or the speaker, or move it with the arrow keys: the number on each seat is its spread, and less is more even."
      />
      <div class="desk seats">
        <div class="columns">
          <Plan />
          <Findings />
          <RoomCard />
        </div>
        <div class="columns">
          <Story />
          <SeatTable />
          <Changes />
        </div>
      </div>
    </>
  );
}
