"""How long a report of three candidates takes to draw, and how large it is.

Run as ``python tests/speed/bench_report.py``. Prints milliseconds, and the ratio against a yardstick timed in the
same run: writing as many numbers as the page has points, one by one.
"""

import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from forehear.publish import report_page, write_report
from rooms.synthetic import three_candidates

REPEATS = 7


def fastest_ms(work: Callable[[], object]) -> float:
    """Shortest of several runs."""
    times = []
    for _ in range(REPEATS):
        started = time.perf_counter()
        work()
        times.append(time.perf_counter() - started)
    return 1e3 * min(times)


def main() -> None:
    comparison = three_candidates()
    page = report_page(comparison)
    numbers = [0.1 * index for index in range(2 * 240 * page.count("<polyline"))]
    yardstick = fastest_ms(lambda: ",".join(f"{value:.1f}" for value in numbers))
    with tempfile.TemporaryDirectory() as folder:
        took = fastest_ms(lambda: write_report(comparison, Path(folder) / "report.html"))
    print(
        f"report of three candidates {took:6.1f} ms, {took / yardstick:.1f} times the yardstick of {yardstick:.1f} ms"
    )
    print(f"size                       {len(page.encode()) / 1e3:6.0f} kB")


if __name__ == "__main__":
    main()
