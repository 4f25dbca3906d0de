"""``forehear`` with a slow job that only tests know: a part of it done every twentieth of a second."""

import time

from forehear.app import cli
from forehear.app.desk import live
from forehear.app.desk.jobs import Jobs
from forehear.ground.work import Progress


class SlowJobs(Jobs):
    """Jobs with one kind of work that takes ten seconds."""

    def __init__(self, *more: object) -> None:
        super().__init__(*more)  # type: ignore[arg-type]
        self.kinds["slow"] = ("Slow search", _slowly)


def _slowly(progress: Progress) -> None:
    for part in range(200):
        progress(part / 200, "searching")
        time.sleep(0.05)


if __name__ == "__main__":
    live.Jobs = SlowJobs  # type: ignore[misc]
    raise SystemExit(cli.main())
