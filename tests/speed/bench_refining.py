"""How long it takes to refine the example's candidates: from nothing, and from what is kept on disk.

Run as ``python tests/speed/bench_refining.py``. Prints seconds of the wall clock and of all cores (the machine may
have neighbours: trust the latter), and ratios against a yardstick timed in the same run: a single-precision
complex matrix product. Bars on two idle cores: 60 s from nothing; 0.3 s for the field of every driver on both
orbits and the 10-degree sphere, 20 Hz to 20 kHz, from disk. Compiling is not counted.
"""

import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from forehear.design import Design, load
from forehear.ground.axes import Directions, sphere_directions
from forehear.ground.store import KeptResults
from forehear.spine import refining
from forehear.spine.hearing import Hearing
from forehear.spine.refined import USUAL, Reach
from forehear.spine.situation import begin, refine_design

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "attic-cinema"
ALL_AROUND = Directions.joined(
    Directions.horizontal_orbit(), Directions.vertical_orbit(), sphere_directions()[0]
)
YARDSTICK = 1500  # rows of the matrix product that times the machine


def spent_s(work: Callable[[], object]) -> tuple[float, float]:
    """Seconds by the clock, and of all cores."""
    clock, cores = time.perf_counter(), time.process_time()
    work()
    return time.perf_counter() - clock, time.process_time() - cores


def field_from_disk(design: Design) -> None:
    refining._loaded = KeptResults(6)  # what memory holds is forgotten
    speaker = begin(design, Hearing.standard()).speaker
    assert speaker.refined is not None
    speaker.pressure(ALL_AROUND)


def main() -> None:
    a = np.ones((YARDSTICK, YARDSTICK), dtype=np.complex64)
    yardstick = min(spent_s(lambda: a @ a)[1] for _ in range(3))
    print(f"yardstick: product of {YARDSTICK} x {YARDSTICK} complex singles, {yardstick:.2f} s of all cores")
    with tempfile.TemporaryDirectory() as cache:
        os.environ["XDG_CACHE_HOME"] = cache
        refine_design(load(EXAMPLE / "twin.yaml"), Reach(top_hz=300.0, blend_from_hz=200.0))  # compiles
        for name in ("twin", "stack", "trio"):
            design = load(EXAMPLE / f"{name}.yaml")
            for title, work in (
                ("from nothing", lambda design=design: refine_design(design, USUAL)),
                ("from disk", lambda design=design: field_from_disk(design)),
            ):
                clock, cores = spent_s(work)
                ratio = cores / yardstick
                print(
                    f"{name:6s} {title:13s} {clock:6.2f} s, {cores:6.2f} s of all cores, {ratio:6.1f} of the yardstick"
                )


if __name__ == "__main__":
    main()
