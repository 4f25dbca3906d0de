"""The desk at work: messages change the documents at once, the newest state is solved, every page is shown it."""

import asyncio
import contextlib
import traceback
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from time import monotonic, sleep
from typing import Any, TypeVar

from forehear.app.desk import messages
from forehear.app.desk.aside import Aside
from forehear.app.desk.disk import ChangedOnDisk
from forehear.app.desk.doing import Hands, do
from forehear.app.desk.frames import Packed, frame, refusal
from forehear.app.desk.history import State
from forehear.app.desk.jobs import Jobs
from forehear.app.desk.pages import Page
from forehear.app.desk.picture import Shown
from forehear.app.desk.sight import WHOLE, Sight
from forehear.app.desk.solving import Solver
from forehear.app.desk.voice_panel import VoicePanel
from forehear.app.desk.workbench import View, Workbench
from forehear.ground.errors import Complaints, DataError, ForehearError
from forehear.ground.work import Progress

RESTED_S = (
    0.15  # so long after the last change all that was out of sight is solved, and reasons are looked for
)
PATIENCE_S = 20.0  # whoever asks for numbers waits so long for a whole picture
YIELDING_S = (
    0.15  # so long after a message work that holds Python's lock waits, but not longer than its patience
)
LONGEST_YIELD_S = 1.0
LONGEST_PASS_S = 5.0  # so long reasons let a job pass that somebody waits for
STEP_S = 0.01
LEISURE_S = 1.0  # so long after the reasons turns and moves are tried: they take both cores for seconds
ASIDE_S = 0.4  # so long after the last change unsaved work is kept aside
LOOK_S = 2.0  # how often it is looked whether somebody else changed the files
Result = TypeVar("Result")


class Superseded(Exception):
    """Something newer is wanted."""


class Desk:
    """One workbench, its pages and its work."""

    def __init__(self, workbench: Workbench) -> None:
        self.workbench = workbench
        self.picture: Packed | None = None  # the newest whole one
        self.jobs = Jobs(self._told_from_thread)
        self.jobs.kinds["refine"] = ("Reference solver", self._refine)
        voice = VoicePanel(workbench, self.jobs, self._told_from_thread, self._give_way)
        self.hands = Hands(workbench, Aside(workbench.folder), self.jobs, voice)
        self._asked_at = 0.0
        self._pages: set[Page] = set()
        self._solver = Solver()
        self._bench = ThreadPoolExecutor(1, thread_name_prefix="bench")
        self._thinking = ThreadPoolExecutor(1, thread_name_prefix="thinking")
        self._wanted = asyncio.Event()
        self._wholly = True  # the next picture is to be whole
        self._is_whole = asyncio.Event()  # the newest picture is
        self._rested = False  # the hand has rested before it was wanted
        self._tasks: dict[str, asyncio.Task[None]] = {}
        self._loop: asyncio.AbstractEventLoop | None = None
        self._good: State | None = None  # the newest state of which a picture could be made
        self._whole_good: State | None = None  # and a whole one
        self._told_changed: tuple[str, ...] = ()

    # --- life ---

    async def open(self) -> None:
        """Begin to work."""
        self._loop = asyncio.get_running_loop()
        self._begin("solve", self._solve_newest())
        self._begin("look", self._look_at_disk())
        self._wanted.set()

    async def close(self) -> None:
        """Stop working; unsaved work is kept aside."""
        self.hands.voice.close()
        self.jobs.close()
        for task in self._tasks.values():
            task.cancel()
        await asyncio.gather(*self._tasks.values(), return_exceptions=True)
        with contextlib.suppress(DataError):
            await self.on_bench(lambda: self.hands.aside.write(self.workbench))
        self._bench.shutdown(wait=True)
        self._thinking.shutdown(wait=False, cancel_futures=True)

    async def join(self, page: Page, work: str | None = None) -> None:
        """Take a page in: it is shown what everybody sees.

        Parameters
        ----------
        work
            The line of work that the page had before the server was started again, if it had one: when just that is
            kept aside, it is taken up again without a question.
        """
        if work is not None and self.hands.aside.matches(work):
            with contextlib.suppress(ForehearError, Complaints):
                await self.on_bench(lambda: self.hands.aside.restore(self.workbench))
                self._want_whole()
        self._pages.add(page)
        for news in self.jobs.running():
            page.tell(frame(news))
        offered = self.hands.aside.offered()
        if offered is not None:
            page.tell(frame(offered))
        if self.picture is not None:
            page.show(self.picture)
            if not self._is_whole.is_set():
                self._want_whole()

    def leave(self, page: Page) -> None:
        """Let a page go."""
        self._pages.discard(page)

    # --- messages ---

    async def take(self, page: Page, text: str) -> None:
        """Take one message of a page; whatever is wrong with it is said to that page alone."""
        seq = 0
        try:
            message = messages.read_message(text)
            seq = messages.seq_of(message)
            if message["do"] == "look":
                self._look(page, messages.sight_in(message))
                return
            self._asked_at = monotonic()
            answer = await self.on_bench(lambda: do(message, self.hands))
        except ChangedOnDisk as changed:
            page.tell(frame({"kind": "asked", "seq": seq, **_file_changed(changed.files)}))
        except (ForehearError, Complaints) as error:
            page.tell(frame(refusal(seq, error)))
        else:
            page.asked = max(page.asked, seq)
            self._wholly = self._wholly or message["do"] != "change"
            self._wanted.set()
            self._begin("aside", self._keep_aside())
            if answer is not None:
                page.tell(frame({**answer, "seq": seq}))

    def _look(self, page: Page, sight: Sight) -> None:
        """Note what a page has in view; what was out of sight is refreshed at once."""
        page.sight = sight
        if not self._is_whole.is_set():
            self._want_whole()

    # --- solving ---

    async def _solve_newest(self) -> None:
        while True:
            await self._wanted.wait()
            self._wanted.clear()
            asked = {page: page.asked for page in self._pages}
            sight = WHOLE if self._wholly else self._sight()
            wait_s, self._wholly, self._rested = 0.0 if self._rested else RESTED_S, False, False
            try:
                view, shown, packed = await self.on_bench(partial(self._solve, sight))
            except (ForehearError, Complaints) as error:
                self._put_back(error, asked)
            except Exception as error:  # our mistake: said, never silent, and the desk goes on
                traceback.print_exception(error)
                self._put_back(DataError(f"forehear made a mistake: {error!r}", cure="undo"), asked)
            else:
                self._publish(packed, asked)
                if not packed.whole:
                    self._begin("reasons", self._finish())
                elif not shown.full:
                    self._begin("reasons", self._find_reasons(view, shown, wait_s))

    def _sight(self) -> Sight:
        """Return what any page has in view."""
        return frozenset().union(*(page.sight for page in self._pages)) if self._pages else WHOLE

    def _want_whole(self) -> None:
        self._wholly = True
        self._wanted.set()

    async def newest(self) -> Packed | None:
        """Return the newest picture, whole; None where the first one has still not come after a while."""
        if not self._is_whole.is_set():
            self._want_whole()
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self._is_whole.wait(), PATIENCE_S)
        return self.picture

    def _solve(self, sight: Sight) -> tuple[View, Shown, Packed]:
        state, view = self.workbench.history.now, self.workbench.view()
        shown, packed = self._solver.quickly(view, sight)
        self._good = state
        if packed.whole:
            self._whole_good = state
        return view, shown, packed

    def _put_back(self, error: ForehearError | Complaints, asked: dict[Page, int]) -> None:
        """Go back from a state that cannot be solved to the last one that could, and say why."""
        for page, seq in asked.items():
            page.tell(frame(refusal(seq, error)))
        now = self.workbench.history.now
        good = self._good if now is not self._good else self._whole_good
        if good is not None and now is not good:
            self.workbench.history.drop_to(good)
            self._want_whole()

    async def _finish(self) -> None:
        """When the hand rests, solve what was out of sight."""
        await asyncio.sleep(RESTED_S)
        self._rested = True
        self._want_whole()

    async def _find_reasons(self, view: View, shown: Shown, wait_s: float) -> None:
        await asyncio.sleep(wait_s)

        def go_on(_share: float, _doing: str) -> None:
            self._let_pass()
            if self.workbench.history.revision != view.revision:
                raise Superseded

        with contextlib.suppress(Superseded):
            reasoned, packed = await self._think(lambda: self._solver.fully(view, shown, go_on))
            if self.workbench.history.revision == view.revision:
                self._publish(packed, {})
                await asyncio.sleep(LEISURE_S)
                packed = await self._think(lambda: self._solver.with_story(view, reasoned, go_on))
                if self.workbench.history.revision == view.revision:
                    self._publish(packed, {})

    def _let_pass(self) -> None:
        """Wait in the thread of the reasons while somebody waits for a job, for a while."""
        end = monotonic() + LONGEST_PASS_S
        while self.jobs.awaited and monotonic() < end:
            sleep(STEP_S)

    def _refine(self, progress: Progress) -> None:
        """Solve the shape shown now by the reference solver, as a job; then show everything by it."""
        assert self._loop is not None
        design = self._from_thread(self.on_bench(self.workbench.design))
        self._solver.refine(design, progress)
        self._from_thread(self.on_bench(self._solver.forget))
        self._loop.call_soon_threadsafe(self._want_whole)

    def _give_way(self) -> None:
        """Wait in a thread of a job while a hand moves, for a while."""
        end = monotonic() + LONGEST_YIELD_S
        while monotonic() < min(end, self._asked_at + YIELDING_S):
            sleep(STEP_S)

    def _from_thread(self, work: Coroutine[Any, Any, Result]) -> Result:
        """Wait in a thread of a job for what the desk does."""
        assert self._loop is not None
        return asyncio.run_coroutine_threadsafe(work, self._loop).result()

    async def _think(self, work: Callable[[], Result]) -> Result:
        """Do something long beside what hands ask for."""
        assert self._loop is not None
        return await self._loop.run_in_executor(self._thinking, work)

    # --- the disk ---

    async def _keep_aside(self) -> None:
        await asyncio.sleep(ASIDE_S)
        try:
            await self.on_bench(lambda: self.hands.aside.write(self.workbench))
        except DataError as error:
            self.tell_all(refusal(0, error))

    async def _look_at_disk(self) -> None:
        """Say once of each change that files differ from what is known of them, and once that they no longer do.

        The second takes back a question that another window, or the same one a moment before, has answered.
        """
        while True:
            await asyncio.sleep(LOOK_S)
            changed = tuple(await self.on_bench(self._changed_on_disk))
            if changed != self._told_changed:
                self.tell_all({"kind": "asked", **_file_changed(changed)})
            self._told_changed = changed

    def _changed_on_disk(self) -> list[str]:
        return self.workbench.disk.changed(self.workbench.history.now.texts())

    # --- telling ---

    def _publish(self, packed: Packed, asked: dict[Page, int]) -> None:
        if packed.whole:
            self.picture = packed
            self._is_whole.set()
        else:
            self._is_whole.clear()
        for page in self._pages:
            page.answered = max(page.answered, asked.get(page, 0))
            page.show(packed)

    def tell_all(self, head: dict[str, Any]) -> None:
        """Give every page the same news."""
        data = frame(head)
        for page in self._pages:
            page.tell(data)

    def _told_from_thread(self, head: dict[str, Any]) -> None:
        if self._loop is not None and not self._loop.is_closed():
            self._loop.call_soon_threadsafe(self.tell_all, head)

    # --- tasks ---

    async def on_bench(self, work: Callable[[], Result]) -> Result:
        """Do something to the workbench, after what was asked before."""
        assert self._loop is not None
        return await self._loop.run_in_executor(self._bench, work)

    def _begin(self, name: str, work: Coroutine[Any, Any, None]) -> None:
        """Begin a task; an older one of the same name is given up."""
        before = self._tasks.get(name)
        if before is not None:
            before.cancel()
        self._tasks[name] = asyncio.create_task(work)


def _file_changed(files: tuple[str, ...]) -> dict[str, Any]:
    return {"question": "file changed", "files": list(files)}
