"""How long the instant model takes: five drivers, both orbits at 5 degrees, 240 bands, with edges.

Run as ``python tests/speed/bench_radiation.py``. Prints milliseconds, and ratios against a yardstick timed
in the same run: as many complex exponentials as there are answers. Small calls (nine directions) have a bar
of 3 ms on an idle core.
"""

import time
from collections.abc import Callable

import numpy as np

from forehear.ground.air import Air
from forehear.ground.axes import Directions, FrequencyGrid
from forehear.radiation import Diaphragm, Front, instant_pressure, prepare

FRONT = Front.rectangle(0.22, 0.5, 0.25)
DRIVERS = [
    Diaphragm((0.0, -0.16), 0.065, np.pi * 0.065**2),
    Diaphragm((0.0, 0.16), 0.065, np.pi * 0.065**2),
    Diaphragm((-0.05, 0.0), 0.035, np.pi * 0.035**2),
    Diaphragm((0.05, 0.0), 0.035, np.pi * 0.035**2),
    Diaphragm((0.0, 0.05), 0.0125, np.pi * 0.0125**2, dome_height_m=0.004),
]
DIRECTIONS = Directions.joined(Directions.horizontal_orbit(), Directions.vertical_orbit())
SEATS = Directions.from_angles(np.radians(np.linspace(-50, 50, 9)), np.zeros(1))
ALL_ROUND = Directions.from_angles(np.radians(np.linspace(-160, 160, 9)), np.zeros(1))
FREQUENCY_HZ = FrequencyGrid.standard().frequency_hz
REPEATS = 15


def best_ms(work: Callable[[], object]) -> float:
    """Shortest of several runs [ms]: the machine has neighbours."""
    spent = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return 1000 * min(spent)


def solve(drivers: list[Diaphragm], *, edges: bool) -> None:
    for driver in drivers:
        instant_pressure(driver, FRONT, DIRECTIONS, FREQUENCY_HZ, Air(), edges=edges)


def main() -> None:
    count = len(DRIVERS) * len(DIRECTIONS) * FREQUENCY_HZ.size
    angle = np.random.default_rng(0).uniform(0, 6, count)
    yardstick = best_ms(lambda: np.exp(1j * angle))
    print(f"yardstick: {count} complex exponentials {yardstick:7.1f} ms")
    for title, drivers, edges in (
        ("five drivers, with edges", DRIVERS, True),
        ("one driver, with edges", DRIVERS[:1], True),
        ("five drivers, no edges", DRIVERS, False),
    ):
        spent = best_ms(lambda drivers=drivers, edges=edges: solve(drivers, edges=edges))
        print(f"{title:28s} {spent:7.1f} ms, {spent / yardstick:5.2f} of the yardstick")
    ready = prepare(DRIVERS[0], FRONT, FREQUENCY_HZ, Air())
    for title, work in (
        ("nine directions ahead", lambda: instant_pressure(DRIVERS[0], FRONT, SEATS, FREQUENCY_HZ, Air())),
        ("nine all round", lambda: instant_pressure(DRIVERS[0], FRONT, ALL_ROUND, FREQUENCY_HZ, Air())),
        ("prepared, nine ahead", lambda: ready.pressure(SEATS)),
        ("prepared, nine all round", lambda: ready.pressure(ALL_ROUND)),
    ):
        spent = best_ms(work)
        print(f"{title:28s} {spent:7.1f} ms, {spent / yardstick:5.2f} of the yardstick")


if __name__ == "__main__":
    main()
