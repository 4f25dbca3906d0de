"""The Voice panel: a search for networks, builds and stress as long work of the desk, and what came of them."""

import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event, Lock
from typing import Any

from forehear.app.desk.frames import refusal
from forehear.app.desk.jobs import Jobs, Stopped, Tell
from forehear.app.desk.voice_asked import VOLTAGE_V, Order, goal_of
from forehear.app.desk.workbench import Workbench
from forehear.design import Design
from forehear.ground.errors import Complaints, DesignError, ForehearError
from forehear.ground.reading.nodes import Plain
from forehear.ground.work import Progress, part_of
from forehear.spine.hearing import Hearing
from forehear.spine.situation import Situation, solve_situation
from forehear.spine.translate import branch_of
from forehear.voice import (
    LIST_BUILDS,
    Asked,
    Draw,
    Layout,
    Offered,
    Offers,
    Seen,
    Start,
    as_plain_data,
    find_network,
    layout_of,
    listen,
    offers_of,
    plain_stress,
    plain_yield,
    stress_of,
    wish_of,
    with_network,
    write,
    yield_of,
)
from forehear.voice.saying import (
    CAUTION,
    NOTHING_BETTER,
    STOPPED,
    drawn_words,
    first_words,
    yield_words,
)
from forehear.voice.shop import tolerance_of

FORMAT = "forehear-voice-panel/1"
TITLES = {"voice": "Voice", "builds": "Tolerance", "stress": "Stress"}
OFTEN_S = 0.1  # news of the goal comes at most this often
Works = Callable[[Progress], None]


@dataclass(eq=False)
class Fall:
    """How the goal falls while a search runs: evaluations, and dB."""

    fell: list[tuple[int, float]] = field(default_factory=list)  # of everything tried
    made: list[tuple[int, float]] = field(default_factory=list)  # of networks of parts that can be had


@dataclass(frozen=True, eq=False)
class Found:
    """What a search came to."""

    number: int  # of the search
    design: Design
    offers: Offers
    plain: dict[str, Any]
    saved: dict[int, str] = field(default_factory=dict)  # place in the short list: name of the file


@dataclass(frozen=True, eq=False)
class Told:
    """What builds or stress of one design came to."""

    design: Design
    plain: dict[str, Any]


class VoicePanel:
    """What the panel of every page shows, and what it can do. Methods are called on the bench, work is done beside."""

    def __init__(self, bench: Workbench, jobs: Jobs, tell: Tell, give_way: Callable[[], None]) -> None:
        self._bench, self._jobs, self._tell, self._give_way = bench, jobs, tell, give_way
        self._lock, self._closing = Lock(), Event()
        self._version, self._searches, self._told_at = 0, 0, 0.0
        self._running: set[str] = set()
        self._fall = Fall()
        self._found: Found | None = None
        self._results: dict[str, Told] = {}
        self._refused: dict[str, dict[str, Any]] = {}

    def close(self) -> None:
        """Let nothing be finished any more."""
        self._closing.set()

    # --- work ---

    def search(self, order: Order) -> None:
        """Look for networks for the design shown."""
        design, wish = order.for_design(self._bench.design())
        self._searches += 1
        number, fall = self._searches, Fall()

        def work(progress: Progress) -> None:
            started = time.monotonic()
            seen = Seen(self._listener(fall.fell), self._listener(fall.made))
            hunting = part_of(_stopping(progress, self._closing), 0.0, 0.9)
            voiced = find_network(design, wish, order.search, hunting, seen)
            draw = Draw(LIST_BUILDS, seed=order.search.seed)
            finishing = part_of(_finishing(progress, self._closing), 0.9, 1.0)
            offers = offers_of(voiced, draw, VOLTAGE_V, finishing)
            plain = as_plain_data(voiced, offers, (), time.monotonic() - started)
            with self._lock:
                self._found = Found(number, design, offers, plain)

        self._begin("voice", work, fall)

    def build(self, draw: Draw) -> None:
        """Build the design shown many times."""
        design = self._bench.design()

        def work(progress: Progress) -> None:
            progress(0.0, "the seats")
            situation, layout, start = _listened(design)
            found = yield_of(situation, layout, start.evaluator, draw, part_of(progress, 0.1, 1.0))
            plain = {
                "yield": plain_yield(found),
                "tolerances": [tolerance_of(part.component) for part in layout.parts],
                "words": yield_words(found),
                "drawn": drawn_words(draw),
            }
            with self._lock:
                self._results["builds"] = Told(design, plain)

        self._begin("builds", work)

    def load(self, voltage_v: float) -> None:
        """Load the design shown with programme noise."""
        design = self._bench.design()

        def work(progress: Progress) -> None:
            progress(0.0, "the seats")
            situation, layout, start = _listened(design)
            stress = stress_of(design, situation.speaker, layout, start.evaluator, voltage_v)
            plain = {"stress": plain_stress(stress), "words": first_words(stress)}
            with self._lock:
                self._results["stress"] = Told(design, plain)

        self._begin("stress", work)

    def _begin(self, kind: str, work: Works, fall: Fall | None = None) -> None:
        """Begin work of a kind, if none of it runs; how it ends is told."""
        with self._lock:
            if kind in self._running:
                raise DesignError(
                    f"{TITLES[kind]} is at work already", cure="stop it, or wait until it is done"
                )
            self._running.add(kind)
            self._fall = fall or self._fall
            self._refused.pop(kind, None)

        def whole(progress: Progress) -> None:
            def patient(share: float, doing: str) -> None:
                self._give_way()
                progress(share, doing)

            try:
                work(patient)
            except (ForehearError, Complaints) as error:
                with self._lock:
                    self._refused[kind] = refusal(0, error)
                raise
            finally:
                with self._lock:
                    self._running.discard(kind)
                self._changed()

        self._jobs.begin(kind, TITLES[kind], whole)
        self._changed()

    def _listener(self, points: list[tuple[int, float]]) -> Callable[[int, float], None]:
        """Return what notes how the goal falls, and tells it now and then."""

        def noted(evaluations: int, goal_db: float) -> None:
            points.append((evaluations, round(goal_db, 4)))
            if time.monotonic() - self._told_at >= OFTEN_S:
                self._told_at = time.monotonic()
                self._tell(self._news())

        return noted

    def _changed(self) -> None:
        with self._lock:
            self._version += 1
        self._tell(self._news())

    def _news(self) -> dict[str, Any]:
        return {
            "kind": "voice",
            "version": self._version,
            "running": sorted(self._running),
            **self._falling(),
        }

    def _falling(self) -> dict[str, Any]:
        return {"fell": list(self._fall.fell), "made": list(self._fall.made)}

    # --- what was found ---

    def put(self, which: tuple[int, int]) -> None:
        """Put a network found into the design it was found for, as one step of undo."""
        found, place = self._offer(which)
        name = found.design.document.label
        document = with_network(self._bench.design(name), found.offers.after[place].candidate.layout).document
        if name != self._bench.history.now.candidate:
            self._bench.select(name)
        self._bench.edit(lambda _: document)

    def save(self, which: tuple[int, int]) -> None:
        """Write a network found as a design beside the one it was found for; nothing is ever written over."""
        found, place = self._offer(which)
        if place in found.saved:
            raise DesignError(f"it is written already, as {found.saved[place]}", cure="open that file")
        (path,) = write([found.offers.after[place]])
        found.saved[place] = path.name
        self._changed()

    def _offer(self, which: tuple[int, int]) -> tuple[Found, int]:
        found, (number, place) = self._found, which
        if found is None or found.number != number or place >= len(found.offers.after):
            raise DesignError(
                "that network is not in the short list any more", cure="choose one of those shown"
            )
        return found, place

    # --- showing ---

    def shown(self) -> dict[str, Any]:
        """Return everything that the panel shows."""
        design = self._bench.design()
        with self._lock:
            version, running, found = self._version, sorted(self._running), self._found
            results, refused = dict(self._results), dict(self._refused)
        goals = design.brief.goals
        return {
            "format": FORMAT,
            "version": version,
            "candidate": design.document.label,
            "title": design.title,
            "seats": [seat.name for seat in design.brief.seats],
            "currency": design.brief.currency,
            "stock": Path(goals.voicing.stock.where).name if goals.voicing.stock else None,
            "goal": goal_of(design),
            "voltage_v": VOLTAGE_V,
            "running": running,
            **self._falling(),
            "found": found and self._shown_found(found, design),
            **{kind: self._shown_result(results.get(kind), design) for kind in ("builds", "stress")},
            "refused": refused,
            "caution": CAUTION,
        }

    def _shown_found(self, found: Found, design: Design) -> dict[str, Any]:
        words = f"{found.plain['evaluations']} networks tried in {found.plain['seconds']:.1f} s"
        same = found.design.document.label == design.document.label
        return {
            "search": found.number,
            "candidate": found.design.document.label,
            "stale": not same or _but_network(found.design) != _but_network(design),
            "voicing": found.plain,
            "in_hand": next(
                (place for place, one in enumerate(found.offers.after) if _in_hand(one, design)), None
            ),
            "saved": {str(place): name for place, name in found.saved.items()},
            "words": f"{words}{STOPPED[found.plain['stopped_by']]}",
            "nothing": "" if found.offers.after else NOTHING_BETTER,
        }

    def _shown_result(self, result: Told | None, design: Design) -> dict[str, Any] | None:
        if result is None:
            return None
        stale = result.design.design_hash != design.design_hash
        return {**result.plain, "title": result.design.title, "stale": stale}


def _in_hand(offer: Offered, design: Design) -> bool:
    """Tell whether a design has the network of an offer now."""
    return [branch_of(way) for way in offer.candidate.layout.ways] == [branch_of(way) for way in design.ways]


def _listened(design: Design) -> tuple[Situation, Layout, Start]:
    situation = solve_situation(design, Hearing.standard())
    return situation, layout_of(design), listen(situation, wish_of(design, Asked()).goal)


def _stopping(progress: Progress, closing: Event) -> Progress:
    """Return a progress under which a stop ends the search with what it has, and is not felt after."""
    stopped = False

    def told(share: float, doing: str) -> None:
        nonlocal stopped
        try:
            progress(share, doing)
        except Stopped:
            if closing.is_set():
                raise
            if (
                not stopped and share > 0
            ):  # before that there is nothing to keep; the next word finds it stopped
                stopped = True
                raise KeyboardInterrupt from None

    return told


def _finishing(progress: Progress, closing: Event) -> Progress:
    """Return a progress under which a stop is not felt: little is left to do."""

    def told(share: float, doing: str) -> None:
        try:
            progress(share, doing)
        except Stopped:
            if closing.is_set():
                raise

    return told


def _but_network(design: Design) -> Plain:
    """Return what files say of everything but the networks."""
    plain = design.document.plain()
    ways = {
        name: {key: value for key, value in way.items() if key not in ("network", "polarity")}
        for name, way in plain["ways"].items()
    }
    return {**plain, "ways": ways, "brief": design.brief.document.plain()}
