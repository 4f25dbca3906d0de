// What the page knows: everything that comes from the server, and where the reader looks.
import { computed, effect, signal } from "@preact/signals";
import { Link } from "./link";
import type { Asked, Change, CurvePreview, DeskName, Job, LateNews, Picture, PictureHead, Refused, SeatRow } from "./picture";

const NONE: readonly never[] = [];

/** The newest picture; null until the first one came. */
export const picture = signal<Picture | null>(null);
export const head = computed<PictureHead | null>(() => picture.value?.head ?? null);
/** Parts of the head that stay the very same while they do not change: who reads one of them waits for that alone. */
export const there = computed(() => head.value !== null);
export const cabinet = computed(() => head.value?.cabinet ?? null);
export const drivers = computed(() => head.value?.drivers ?? NONE);
export const ports = computed(() => head.value?.ports ?? NONE);
export const online = signal(false);
export const ever_online = signal(false);
/** True when no change waits for its picture. */
export const settled = signal(true);
export const refused = signal<Refused | null>(null);
export const jobs = signal<Job[]>([]);
export const asked = signal<Asked | null>(null);
export const curve_preview = signal<CurvePreview | null>(null);
/** Who takes news of other kinds: parts of the page that are fetched late. */
export const late = new Map<string, (news: LateNews) => void>();
/** Something the page itself has to say, such as "copied". */
export const said = signal("");

/** The frequency under the pointer or the keyboard's cursor, on every chart and map; null when none. */
export const cursor_hz = signal<number | null>(null);
/** What a finding's Show points at. */
export const marked = signal<{ desk: DeskName; target: string } | null>(null);
/** The seat whose story is told, as "placement / seat". */
export const chosen_key = signal<string | null>(null);

export const key_of = (seat: { placement: string; name: string }): string => `${seat.placement} / ${seat.name}`;

/** The seat whose story is told, and its row in the arrays; at first the one with the deepest hole. */
export const chosen = computed<{ seat: SeatRow; row: number } | null>(() => {
  const seats = head.value?.seats ?? [];
  const wanted = seats.findIndex((seat) => key_of(seat) === chosen_key.value);
  const row = wanted >= 0 ? wanted : Math.max(0, first_worth_telling(seats));
  const seat = seats[row];
  return seat ? { seat, row } : null;
});

function first_worth_telling(seats: readonly SeatRow[]): number {
  const depth = seats.map((seat) => Math.abs(seat.hole?.db ?? 0));
  return depth.indexOf(Math.max(...depth));
}

const SAID_MS = 5000;
const TOKEN = "forehear token";
const given = new URLSearchParams(location.search).get("token");
if (given) sessionStorage.setItem(TOKEN, given);
export const token = (): string => given ?? sessionStorage.getItem(TOKEN) ?? "";

// --- which desk -----------------------------------------------------------------------------------------------------

const DESKS: readonly DeskName[] = ["seats", "front", "network", "listen"];

function desk_of(path: string): DeskName {
  return DESKS.find((name) => path === `/${name}`) ?? "seats";
}

export const desk = signal<DeskName>(desk_of(location.pathname));
// The token leaves the address: what is bookmarked or shown on a projector opens nothing.
history.replaceState(null, "", `/${desk.value}`);

export function go(name: DeskName): void {
  if (location.pathname !== `/${name}`) history.pushState(null, "", `/${name}`);
  desk.value = name;
}

addEventListener("popstate", () => {
  desk.value = desk_of(location.pathname);
});

/** Go to a desk and mark a place there. */
export function show(place: { desk: DeskName; target: string }): void {
  marked.value = place;
  go(place.desk);
}

/** The question that stands after news came: one that names no file takes back the same question. */
export function still_open(before: Asked | null, news: Asked): Asked | null {
  if (Array.isArray(news["files"]) && news["files"].length === 0)
    return before?.question === news.question ? null : before;
  return news;
}

// --- to and from the server -----------------------------------------------------------------------------------------

function address(): string {
  const query = new URLSearchParams({ token: token() });
  if (head.value) query.set("work", head.value.work);
  return `${location.protocol === "https:" ? "wss" : "ws"}://${location.host}/live?${query}`;
}

const link = new Link(
  address,
  {
    picture(came) {
      const before = picture.peek();
      if (!came.head.whole && !before) return; // a whole one follows
      const next = before ? (came.head.whole ? came.after(before) : came.over(before)) : came;
      if (refused.value && next.head.seq > refused.value.seq) refused.value = null;
      picture.value = next;
      const seats = next.head.seats;
      const first = seats[Math.max(0, first_worth_telling(seats))];
      if (chosen_key.value === null && first) chosen_key.value = key_of(first);
    },
    told(news) {
      if (news.kind === "refused") refused.value = news;
      else if (news.kind === "job") jobs.value = with_job(jobs.value, news);
      else if (news.kind === "asked") asked.value = still_open(asked.value, news);
      else if (news.kind === "curve") curve_preview.value = news;
      else late.get(news.kind)?.(news);
    },
    online(up) {
      online.value = up;
      if (up) ever_online.value = true;
      else jobs.value = [];
    },
    settled(calm) {
      settled.value = calm;
    },
  },
);

/** Put news of a job into the list; a job that is done leaves it. */
export function with_job(before: readonly Job[], news: Job): Job[] {
  const others = before.filter((job) => job.id !== news.id);
  return news.share >= 1 ? others : [...others, news];
}

/** Write values into the design or the brief, as text that would stand in the file. */
export function change(changes: readonly Change[], group: string): void {
  link.change(changes, group);
}

let drags = 0;
/** A group of its own for one drag: all of it is one step of undo, however long the hand rests. */
export const drag_group = (what: string): string => `drag ${what} ${Math.round(performance.timeOrigin)} ${++drags}`;

/** Ask the server for anything else: undo, keep, save, insert, move, select, stop ...; returns the message's number. */
export function ask(what: string, more: Record<string, unknown> = {}): number {
  return link.send({ do: what, ...more });
}

/** Tell the server what is in view: while a hand moves it solves and sends only that. */
export function look(parts: readonly string[]): void {
  link.send({ do: "look", at: parts });
}

effect(() => {
  const now = head.value;
  const title = now?.candidates.find((candidate) => candidate.file === now.candidate)?.title;
  document.title = title ? `${now?.unsaved ? "• " : ""}${title} – ${desk.value}` : "forehear desk";
});

// What was said goes away by itself.
let silence: ReturnType<typeof setTimeout> | undefined;
effect(() => {
  clearTimeout(silence);
  if (said.value) silence = setTimeout(() => (said.value = ""), SAID_MS);
});
