// One websocket. Changes go one at a time, the newest wins; everything else goes in order, none is dropped.
import { decode, type Change, type OtherHead, type Picture } from "./picture";

export interface Listener {
  picture(picture: Picture): void;
  told(head: OtherHead): void;
  online(up: boolean): void;
  settled(calm: boolean): void;
}

const LONGEST_FLIGHT_MS = 1000;
const FRESH_MS = 6; // a change as young as this goes at once; an older one waits for the next frame and its newer place
const FIRST_WAIT_MS = 250;
const LONGEST_WAIT_MS = 4000;

interface Waiting {
  changes: Map<string, Change>;
  group: string;
}

/** Put newer changes over older ones; of one value only the newest text is kept, in the order of first touch. */
export function merged(before: Map<string, Change>, changes: readonly Change[]): Map<string, Change> {
  const result = new Map(before);
  for (const change of changes) result.set(JSON.stringify([change.file, change.path]), change);
  return result;
}

export class Link {
  private socket: WebSocket | null = null;
  private waiting: Waiting | null = null;
  private flight: { seq: number; since: number } | null = null;
  private frame = 0;
  private touched = 0;
  private patience: ReturnType<typeof setTimeout> | 0 = 0;
  private seq = 0;
  private wait_ms = FIRST_WAIT_MS;
  private unsent: string[] = [];

  constructor(
    private readonly address: () => string,
    private readonly listener: Listener,
  ) {
    this.open();
  }

  /** Write values; within one frame and one flight the newest text of each value wins. */
  change(changes: readonly Change[], group: string): void {
    if (this.waiting && this.waiting.group !== group) this.flush(true);
    this.waiting = { changes: merged(this.waiting?.changes ?? new Map(), changes), group };
    this.touched = performance.now();
    this.listener.settled(false);
    this.soon();
  }

  /** Send what waits in the next frame, after the pointer has told its newest place. */
  private soon(): void {
    if (document.hidden) return this.flush(false); // no frames there
    this.frame ||= requestAnimationFrame(() => {
      this.frame = 0;
      this.flush(false);
    });
  }

  /** Send any other message, after the changes made before it. */
  send(message: { do: string } & Record<string, unknown>): number {
    this.flush(true);
    return this.post(message);
  }

  get calm(): boolean {
    return !this.waiting && !this.flight;
  }

  private open(): void {
    const socket = new WebSocket(this.address());
    this.socket = socket;
    socket.binaryType = "arraybuffer";
    socket.onopen = () => {
      this.wait_ms = FIRST_WAIT_MS;
      this.flight = null;
      this.listener.online(true);
      for (const text of this.unsent.splice(0)) socket.send(text);
      this.flush(false);
    };
    socket.onclose = () => {
      this.listener.online(false);
      this.flight = null;
      setTimeout(() => this.open(), this.wait_ms);
      this.wait_ms = Math.min(2 * this.wait_ms, LONGEST_WAIT_MS);
    };
    socket.onmessage = (event: MessageEvent<ArrayBuffer>) => this.heard(event.data);
  }

  private heard(data: ArrayBuffer): void {
    const frame = decode(data);
    const seq = "picture" in frame ? frame.picture.head.seq : frame.head.kind === "refused" ? frame.head.seq : -1;
    if (this.flight && Number(seq) >= this.flight.seq) this.flight = null;
    if ("picture" in frame) this.listener.picture(frame.picture);
    else this.listener.told(frame.head);
    if (performance.now() - this.touched < FRESH_MS) this.flush(false);
    else if (this.waiting) this.soon();
    if (this.calm) this.listener.settled(true);
  }

  private flush(at_once: boolean): void {
    if (!this.waiting || this.socket?.readyState !== WebSocket.OPEN) return;
    if (this.flight && !at_once) {
      const left = LONGEST_FLIGHT_MS - (performance.now() - this.flight.since);
      if (left > 0) {
        this.patience ||= setTimeout(() => this.flush(false), left);
        return;
      }
    }
    clearTimeout(this.patience);
    this.patience = 0;
    const { changes, group } = this.waiting;
    this.waiting = null;
    const seq = this.post({ do: "change", changes: [...changes.values()], group });
    this.flight = { seq, since: performance.now() };
  }

  private post(message: { do: string } & Record<string, unknown>): number {
    const text = JSON.stringify({ seq: ++this.seq, ...message });
    if (this.socket?.readyState === WebSocket.OPEN) this.socket.send(text);
    else this.unsent.push(text);
    return this.seq;
  }
}
