"""What each message does to the open folder."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from forehear.app.desk import curves_in, messages
from forehear.app.desk.aside import Aside
from forehear.app.desk.curves_in import Dropped
from forehear.app.desk.jobs import Jobs
from forehear.app.desk.voice_asked import builds_in, offer_in, search_in, voltage_in
from forehear.app.desk.voice_panel import VoicePanel
from forehear.app.desk.workbench import Workbench
from forehear.ground.errors import DesignError

MOST_DROPPED = 16
Answer = dict[str, Any] | None  # news for the page that asked


@dataclass(frozen=True, eq=False)
class Hands:
    """Everything that messages reach."""

    bench: Workbench
    aside: Aside
    jobs: Jobs
    voice: VoicePanel
    dropped: dict[tuple[str, str], Dropped] = field(default_factory=dict)  # by driver and kind

    def drop(self, driver: str, kind: str, text: str) -> dict[str, Any]:
        """Hold a text dropped on a driver until it is taken; return what it holds."""
        dropped = Dropped(driver, kind, text)
        found = curves_in.preview(self.bench.design(), dropped)
        self.dropped.pop((driver, kind), None)
        self.dropped[driver, kind] = dropped
        while len(self.dropped) > MOST_DROPPED:
            self.dropped.pop(next(iter(self.dropped)))
        return found


def do(message: dict[str, Any], hands: Hands) -> Answer:
    """Do what a message asks.

    Raises
    ------
    DesignError, DataError, Complaints, ChangedOnDisk
        When it cannot be done; nothing has changed then.
    """
    name = message["do"]
    if name not in DOINGS:
        raise DesignError(f"the desk cannot do {name[:40]!r}", cure="load the page again")
    return DOINGS[name](message, hands)


def _change(message: dict[str, Any], hands: Hands) -> Answer:
    changes = messages.changes_in(message)
    hands.bench.change(changes, messages.text_in(message, "group", default=""))
    return None


def _rearrange(message: dict[str, Any], hands: Hands) -> Answer:
    hands.bench.edit(messages.rearrangement_in(message))
    return None


def _select(message: dict[str, Any], hands: Hands) -> Answer:
    hands.bench.select(messages.text_in(message, "candidate"))
    return None


def _compare(message: dict[str, Any], hands: Hands) -> Answer:
    nothing = message.get("candidate") is None
    hands.bench.compare(None if nothing else messages.text_in(message, "candidate"))
    return None


def _stop(message: dict[str, Any], hands: Hands) -> Answer:
    hands.jobs.stop(messages.text_in(message, "job"))
    return None


def _start(message: dict[str, Any], hands: Hands) -> Answer:
    hands.jobs.start(messages.text_in(message, "job"))
    return None


def _curve(message: dict[str, Any], hands: Hands) -> Answer:
    """Show or take a text that was put at /curve before."""
    driver, kind = messages.text_in(message, "driver"), messages.text_in(message, "kind")
    dropped = hands.dropped.get((driver, kind))
    if dropped is None:
        raise DesignError(f"no {kind[:40]} was dropped on {driver[:40]!r}", cure="drop the file again")
    design = hands.bench.design()
    if message.get("take") is not True:
        return curves_in.preview(design, dropped)
    measured = {
        key: messages.text_in(message, key) for key in curves_in.ASKED if message.get(key) is not None
    }
    hands.bench.take_part(*curves_in.taken(design, dropped, measured, hands.bench.folder))
    del hands.dropped[driver, kind]
    return None


def _voice(work: Callable[[dict[str, Any], VoicePanel], object]) -> Callable[[dict[str, Any], Hands], Answer]:
    """Turn what the Voice panel does into a doing."""

    def doing(message: dict[str, Any], hands: Hands) -> Answer:
        work(message, hands.voice)
        return None

    return doing


def _plainly(work: Callable[[Hands], object]) -> Callable[[dict[str, Any], Hands], Answer]:
    """Turn what needs nothing of the message but its name into a doing."""

    def doing(_message: dict[str, Any], hands: Hands) -> Answer:
        work(hands)
        return None

    return doing


DOINGS: dict[str, Callable[[dict[str, Any], Hands], Answer]] = {
    "change": _change,
    "insert": _rearrange,
    "remove": _rearrange,
    "move": _rearrange,
    "select": _select,
    "compare": _compare,
    "curve": _curve,
    "start": _start,
    "stop": _stop,
    "voice": _voice(lambda message, panel: panel.search(search_in(message))),
    "builds": _voice(lambda message, panel: panel.build(builds_in(message))),
    "stress": _voice(lambda message, panel: panel.load(voltage_in(message))),
    "try": _voice(lambda message, panel: panel.put(offer_in(message))),
    "save offer": _voice(lambda message, panel: panel.save(offer_in(message))),
    "undo": _plainly(lambda hands: hands.bench.history.undo()),
    "redo": _plainly(lambda hands: hands.bench.history.redo()),
    "keep": _plainly(lambda hands: hands.bench.keep(hands.bench.design())),
    "unkeep": _plainly(lambda hands: hands.bench.keep(None)),
    "save": _plainly(lambda hands: hands.bench.save()),
    "save anyway": _plainly(lambda hands: hands.bench.save(anyway=True)),
    "reload": _plainly(lambda hands: hands.bench.reload()),
    "restore": _plainly(lambda hands: hands.aside.restore(hands.bench)),
    "forget": _plainly(lambda hands: hands.aside.forget()),
}
