"""The desk at work: messages change the documents at once, the newest state is solved, every page is shown it."""

import asyncio
import contextlib
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

from forehear.app.desk import messages
from forehear.app.desk.frames import Packed, frame
from forehear.app.desk.jobs import Jobs
from forehear.app.desk.network_shown import Effects
from forehear.app.desk.pages import Page
from forehear.app.desk.picture import Shown, picture
from forehear.app.desk.workbench import ChangedOnDisk, State, View, Workbench
from forehear.design import Design
from forehear.ground.errors import Complaints, DesignError, ForehearError
from forehear.ground.work import Progress
from forehear.spine.hearing import Hearing
from forehear.spine.live import Live, Reasons, explain, solve_live
from forehear.spine.steps import step_effects

RESTED_S = 0.15  # so long after the last change the reasons are looked for
MOST_KEPT = 8
Result = TypeVar("Result")


class Superseded(Exception):
    """Something newer is wanted."""


class Desk:
    """One workbench, its pages and its work."""

    def __init__(self, workbench: Workbench) -> None:
        self.workbench = workbench
        self.pages: set[Page] = set()
        self.picture: Packed | None = None
        self.jobs = Jobs(self._told_from_thread)
        self._hearing = Hearing.standard()
        self._bench = ThreadPoolExecutor(1, thread_name_prefix="bench")
        self._thinking = ThreadPoolExecutor(1, thread_name_prefix="thinking")
        self._wanted = asyncio.Event()
        self._tasks: list[asyncio.Task[None]] = []
        self._thought: asyncio.Task[None] | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._lives: OrderedDict[int, Live] = OrderedDict()
        self._reasons: OrderedDict[int, tuple[Design, Reasons, Any]] = OrderedDict()
        self._last: tuple[str, Reasons, Any] | None = None
        self._good: State | None = None

    # --- life ---

    async def open(self) -> None:
        """Begin to work."""
        self._loop = asyncio.get_running_loop()
        self._tasks = [asyncio.create_task(self._solve_newest())]
        self._wanted.set()

    async def close(self) -> None:
        """Stop working."""
        self.jobs.close()
        for task in (*self._tasks, *([self._thought] if self._thought else [])):
            task.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await task
        self._bench.shutdown(wait=True)
        self._thinking.shutdown(wait=False, cancel_futures=True)

    async def join(self, page: Page) -> None:
        """Take a page in: it is shown what everybody sees."""
        self.pages.add(page)
        for news in self.jobs.running():
            page.tell(frame(news))
        if self.picture is not None:
            page.show(self.picture)

    def leave(self, page: Page) -> None:
        """Let a page go."""
        self.pages.discard(page)

    # --- messages ---

    async def take(self, page: Page, text: str) -> None:
        """Take one message of a page; whatever is wrong with it is said to that page alone."""
        seq = 0
        try:
            message = messages.read_message(text)
            seq = messages.seq_of(message)
            await self._on_bench(lambda: self._do(message))
            page.asked = max(page.asked, seq)
            self._wanted.set()
        except ChangedOnDisk as changed:
            page.tell(
                frame({"kind": "asked", "seq": seq, "question": "file changed", "files": changed.files})
            )
        except Complaints as complaints:
            page.tell(refusal(seq, complaints.errors[0], len(complaints.errors)))
        except ForehearError as error:
            page.tell(refusal(seq, error))

    def _do(self, message: dict[str, Any]) -> None:
        bench, do = self.workbench, message["do"]
        plain: dict[str, Callable[[], object]] = {
            "undo": bench.undo,
            "redo": bench.redo,
            "keep": bench.keep,
            "unkeep": bench.unkeep,
            "save": bench.save,
            "save anyway": lambda: bench.save(anyway=True),
            "reload": bench.reload,
        }
        if do in plain:
            plain[do]()
        elif do == "change":
            bench.change(messages.changes_in(message), messages.text_in(message, "group", default=""))
        elif do == "select":
            bench.select(messages.text_in(message, "candidate"))
        elif do == "compare":
            name = message.get("candidate")
            bench.compare(None if name is None else messages.text_in(message, "candidate"))
        elif do == "stop":
            self.jobs.stop(messages.text_in(message, "job"))
        elif do == "start":
            self.jobs.start(messages.text_in(message, "job"))
        else:
            raise DesignError(f"the desk cannot do {do[:40]!r}", cure="load the page again")

    # --- solving ---

    async def _solve_newest(self) -> None:
        while True:
            await self._wanted.wait()
            self._wanted.clear()
            asked = {page: page.asked for page in self.pages}
            try:
                view, shown, packed = await self._on_bench(self._solve)
            except (ForehearError, Complaints) as error:
                self._put_back(error, asked)
                continue
            self._publish(packed, asked)
            if not shown.full:
                self._think(view, shown)

    def _solve(self) -> tuple[View, Shown, Packed]:
        state, view = self.workbench.now, self.workbench.view()
        live = self._live(view.design)
        reasons, effects, full = self._known(view)
        shown = Shown(
            live=live,
            kept=self._live(view.kept) if view.kept else None,
            other=self._live(view.other) if view.other else None,
            reasons=reasons,
            effects=effects,
            full=full,
        )
        packed = picture(view.state, shown)
        self._good = state
        return view, shown, packed

    def _live(self, design: Design) -> Live:
        """Solve a design; the last few are remembered."""
        known = self._lives.pop(id(design), None)
        live = known if known and known.situation.design is design else solve_live(design, self._hearing)
        self._lives[id(design)] = live
        while len(self._lives) > MOST_KEPT:
            self._lives.popitem(last=False)
        return live

    def _known(self, view: View) -> tuple[Reasons | None, Any, bool]:
        """Return the reasons of this very design, or the newest of the same candidate."""
        found = self._reasons.get(id(view.design))
        if found and found[0] is view.design:
            return found[1], found[2], True
        if self._last and self._last[0] == view.design.document.label:
            return self._last[1], self._last[2], False
        return None, None, False

    def _put_back(self, error: ForehearError | Complaints, asked: dict[Page, int]) -> None:
        """Physics refuses the newest state: go back to the last one that could be solved, and say why."""
        complaint = error.errors[0] if isinstance(error, Complaints) else error
        for page, seq in asked.items():
            page.tell(refusal(seq, complaint))
        if self._good is not None:
            self.workbench.back_to(self._good)
            self._wanted.set()

    # --- reasons ---

    def _think(self, view: View, shown: Shown) -> None:
        if self._thought is not None:
            self._thought.cancel()
        self._thought = asyncio.create_task(self._find_reasons(view, shown))

    async def _find_reasons(self, view: View, shown: Shown) -> None:
        await asyncio.sleep(RESTED_S)

        def go_on(_share: float = 0.0, _doing: str = "") -> None:
            if self.workbench.revision != view.revision:
                raise Superseded

        def work() -> Packed:
            reasons = explain(shown.live, go_on)
            effects = _effects(shown.live, go_on)
            self._reasons[id(view.design)] = (view.design, reasons, effects)
            while len(self._reasons) > MOST_KEPT:
                self._reasons.popitem(last=False)
            self._last = (view.design.document.label, reasons, effects)
            full = Shown(shown.live, shown.kept, shown.other, reasons, effects, full=True)
            return picture(view.state, full)

        assert self._loop is not None
        with contextlib.suppress(Superseded):
            packed = await self._loop.run_in_executor(self._thinking, work)
            if self.workbench.revision == view.revision:
                self._publish(packed, {})

    # --- telling ---

    def _publish(self, packed: Packed, asked: dict[Page, int]) -> None:
        self.picture = packed
        for page in self.pages:
            page.answered = max(page.answered, asked.get(page, 0))
            page.show(packed)

    def tell_all(self, head: dict[str, Any]) -> None:
        """Give every page the same news."""
        data = frame(head)
        for page in self.pages:
            page.tell(data)

    def _told_from_thread(self, head: dict[str, Any]) -> None:
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self.tell_all, head)

    async def _on_bench(self, work: Callable[[], Result]) -> Result:
        assert self._loop is not None
        return await self._loop.run_in_executor(self._bench, work)


def _effects(live: Live, progress: Progress) -> Effects:
    seats = live.situation.seats
    return {
        effect.keys: [
            {"placement": seat.placement, "seat": seat.name, "db": round(change_db, 4)}
            for seat, change_db in zip(seats, effect.spread_db, strict=bool(effect.spread_db))
        ]
        for effect in step_effects(live, progress)
    }


def refusal(seq: int, error: ForehearError, count: int = 1) -> bytes:
    """Say what cannot be done, where, and what would help."""
    more = f" (and {count - 1} more)" if count > 1 else ""
    return frame(
        {"kind": "refused", "seq": seq, "what": error.what + more, "where": error.where, "cure": error.cure}
    )
