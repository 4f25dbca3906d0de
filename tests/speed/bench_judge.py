"""How long judging takes, in milliseconds and against plain numpy work timed in the same run.

The yardstick is one product of two 240 x 240 matrices of complex numbers; ratios travel between machines,
milliseconds do not. Run as ``python tests/speed/bench_judge.py``.
"""

from collections.abc import Callable
from itertools import combinations
from time import perf_counter

import numpy as np

from forehear.ground.air import Air
from forehear.ground.axes import FrequencyGrid
from forehear.ground.minimum_phase import minimum_phase_rad
from forehear.judge import (
    beamwidth,
    coverage,
    ear_smoothing,
    find_holes,
    in_room_trend,
    shapley_shares,
    spread_db,
    standard_curves,
)
from forehear.room import path_energy

GRID = FrequencyGrid.standard()
NARROW = GRID.split(2)
RANDOM = np.random.default_rng(1)
DRIVERS, PATHS = 5, 7


def milliseconds(work: Callable[[], object], least_s: float = 0.3) -> float:
    """Shortest time of many calls: what the work takes when nothing else wants the machine."""
    work()
    times: list[float] = []
    while sum(times) < least_s or len(times) < 5:
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return 1e3 * min(times)


def main() -> None:
    """Print every stage beside the yardstick."""
    square = RANDOM.normal(size=(240, 240)) + 1j * RANDOM.normal(size=(240, 240))
    orbit = RANDOM.uniform(0.1, 1.0, (72, 240))
    level = RANDOM.normal(80.0, 3.0, 240)
    ear = ear_smoothing(GRID)
    amplitude = RANDOM.normal(size=(DRIVERS, PATHS, 480)) + 0j
    distance = RANDOM.uniform(1.0, 6.0, (DRIVERS, PATHS))
    volts = np.ones((DRIVERS, 480), dtype=complex)
    whole, whole_volts = amplitude[..., ::2], volts[:, ::2]
    causes = ("a", "b", "c", "d")
    worth = {frozenset(some): float(len(some)) for n in range(5) for some in combinations(causes, n)}
    flat = {"slope_below_db_per_octave": 12.0, "slope_above_db_per_octave": -12.0}
    stages: dict[str, Callable[[], object]] = {
        "ear smoothing, made once": lambda: ear_smoothing(GRID),
        "ear smoothing of 8 curves": lambda: ear.smooth(orbit[:8]),
        "standard curves": lambda: standard_curves(orbit, orbit),
        "beamwidth and coverage of one orbit": lambda: (beamwidth(orbit), coverage(orbit, ear)),
        "trend, spread and holes of one seat": lambda: (
            in_room_trend(level, GRID),
            spread_db(level, level - 1, GRID),
            find_holes(level, level + 3, GRID),
        ),
        "shares of four causes": lambda: shapley_shares(worth, causes),
        "5 drivers, 7 paths, by paths, 240 bands": lambda: path_energy(
            GRID, whole, distance, Air(), whole_volts
        ),
        "the same on split bands": lambda: path_energy(NARROW, amplitude, distance, Air(), volts),
        "minimum phase of 240 points": lambda: minimum_phase_rad(GRID.frequency_hz, level, **flat),
    }
    yardstick = milliseconds(lambda: square @ square)
    print(f"{'yardstick: complex 240 x 240 product':<40} {yardstick:8.3f} ms")
    for name, work in stages.items():
        took = milliseconds(work)
        print(f"{name:<40} {took:8.3f} ms  {took / yardstick:7.2f} x")


if __name__ == "__main__":
    main()
