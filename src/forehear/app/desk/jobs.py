"""Long work beside the desk: it shows how far it is and stops when told; the desk stays quick meanwhile."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import count
from threading import Event, Lock
from time import monotonic
from typing import Any, TypeAlias

from forehear.app.desk.frames import refusal
from forehear.ground.errors import DesignError, ForehearError
from forehear.ground.work import Progress, step_back

Work: TypeAlias = Callable[[Progress], None]
Tell: TypeAlias = Callable[[dict[str, Any]], None]
OFTEN_S = 0.1  # news of one job comes at most this often
NEARLY = 0.999  # of a job: all of it is done only once it is over


class Stopped(Exception):
    """The user stopped a job."""


@dataclass(eq=False)
class Job:
    """One piece of work."""

    id: str
    title: str
    stop: Event
    begun: float
    awaited: bool = False  # by somebody with nothing else to do: what nobody asked for waits for it
    told: float = 0.0
    share: float = 0.0
    doing: str = ""
    state: str = "running"  # then "done", "stopped" or "failed"

    def news(self) -> dict[str, Any]:
        """Say how far it is; what is over has share 1."""
        running = self.state == "running"
        spent = monotonic() - self.begun
        left = spent * (1 - self.share) / self.share if running and self.share > 0.01 else None
        return {
            "kind": "job",
            "id": self.id,
            "title": self.title,
            "doing": self.doing,
            "share": round(min(self.share, NEARLY), 4) if running else 1.0,
            "seconds_left": None if left is None else round(left, 1),
            "state": self.state,
        }


class Jobs:
    """The jobs of one desk. `kinds` says what pages may start: a title, and what is done."""

    def __init__(self, tell: Tell) -> None:
        self.kinds: dict[str, tuple[str, Work]] = {}
        self._tell = tell
        self._running: dict[str, Job] = {}
        self._lock = Lock()
        self._numbers = count(1)
        self._workers = ThreadPoolExecutor(2, thread_name_prefix="job", initializer=step_back)
        self._at_once = ThreadPoolExecutor(1, thread_name_prefix="awaited")

    def start(self, kind: str) -> str:
        """Start a job of a kind; return its name."""
        if kind not in self.kinds:
            raise DesignError(f"there is no work called {kind!r}", cure="load the page again")
        return self.begin(kind, *self.kinds[kind])

    @property
    def awaited(self) -> bool:
        """Whether somebody waits for a job with nothing else to do."""
        with self._lock:
            return any(job.awaited for job in self._running.values())

    def begin(self, kind: str, title: str, work: Work, *, awaited: bool = False) -> str:
        """Start work that nobody else knows of; return its name. What is awaited stands behind no long job."""
        job = Job(f"{kind}-{next(self._numbers)}", title, Event(), monotonic(), awaited)
        with self._lock:
            self._running[job.id] = job
        self._tell(job.news())
        (self._at_once if awaited else self._workers).submit(self._run, job, work)
        return job.id

    def stop(self, name: str) -> None:
        """Stop a job; one that is over already stays as it is.

        It is over for everybody at once; its thread ends where it next tells how far it is.
        """
        job = self._running.get(name)
        if job is not None:
            job.stop.set()
            self._end(job, "stopped")

    def running(self) -> list[dict[str, Any]]:
        """Say how far every job is."""
        with self._lock:
            return [job.news() for job in self._running.values()]

    def close(self) -> None:
        """Stop everything."""
        for job in list(self._running.values()):
            job.stop.set()
        for workers in (self._workers, self._at_once):
            workers.shutdown(wait=False, cancel_futures=True)

    def _run(self, job: Job, work: Work) -> None:
        def progress(share: float, doing: str) -> None:
            if job.stop.is_set():
                raise Stopped
            job.share, job.doing = min(max(share, 0.0), 1.0), doing
            if job.state == "running" and monotonic() - job.told >= OFTEN_S:
                job.told = monotonic()
                self._tell(job.news())

        try:
            work(progress)
        except Stopped:
            self._end(job, "stopped")
        except ForehearError as error:
            self._end(job, "failed")
            self._tell(refusal(0, error))
        except Exception:  # whatever a job does must end in news, not in silence
            self._end(job, "failed")
            raise
        else:
            self._end(job, "done")

    def _end(self, job: Job, state: str) -> None:
        """Say how a job ended, once."""
        with self._lock:
            if self._running.pop(job.id, None) is None:
                return
        job.state = state
        self._tell(job.news())
