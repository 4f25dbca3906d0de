"""``forehear`` with a slow job that only tests know, and a reference solver that reaches to 800 Hz only."""

import time
from dataclasses import replace
from functools import partial

from forehear.app import cli
from forehear.app.desk import live
from forehear.app.desk.jobs import Jobs
from forehear.app.desk.solving import Solver
from forehear.ground.work import Progress
from forehear.spine.hearing import Hearing
from forehear.spine.refined import Reach

SMALL = Reach(top_hz=800.0, blend_from_hz=560.0)


class SlowJobs(Jobs):
    """Jobs with one more kind of work, that takes ten seconds: a part of it done every twentieth of a second."""

    def __init__(self, *more: object) -> None:
        super().__init__(*more)  # type: ignore[arg-type]
        self.kinds["slow"] = ("Slow search", _slowly)


def _slowly(progress: Progress) -> None:
    for part in range(200):
        progress(part / 200, "searching")
        time.sleep(0.05)


if __name__ == "__main__":
    live.Jobs = SlowJobs  # type: ignore[misc]
    live.Solver = partial(Solver, replace(Hearing.standard(), reach=SMALL))  # type: ignore[assignment,misc]
    raise SystemExit(cli.main())
