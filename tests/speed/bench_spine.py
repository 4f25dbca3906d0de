"""How long the whole way takes, stage by stage, in milliseconds and against plain numpy work of the same run.

Run as ``python tests/speed/bench_spine.py``. Five drivers on one front, five seats, 240 bands. Shapes are
moved by a hair before every run, so nothing kept from the run before answers.
"""

import os
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable
from itertools import count
from pathlib import Path
from time import perf_counter, process_time

import numpy as np

from forehear.design import Design, load
from forehear.ground.axes import Directions
from forehear.network import solve_network
from forehear.spine import compare, predict
from forehear.spine.around import heard_around, surroundings
from forehear.spine.causes import share_causes
from forehear.spine.hearing import Hearing, judge_seat
from forehear.spine.situation import Situation, solve_situation
from forehear.spine.speaker import Speaker
from forehear.spine.sureness import seat_ranges

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "attic-cinema"
CANDIDATES = ("twin", "stack", "trio")
FIVE = """
design: Five
brief: brief.yaml
cabinet: {width: 560 mm, height: 260 mm, depth: 260 mm, wall: 8 mm}
drivers:
  woofer left: {part: parts/cone-130.yaml, centre: [-200 mm, 0 mm], set back: 17 mm}
  woofer right: {part: parts/cone-130.yaml, centre: [200 mm, 0 mm], set back: 17 mm}
  midrange left: {part: parts/cone-75.yaml, centre: [-60 mm, -40 mm], set back: 9 mm}
  midrange right: {part: parts/cone-75.yaml, centre: [60 mm, -40 mm], set back: 9 mm}
  tweeter: {part: parts/dome-25.yaml, centre: [0 mm, 75 mm]}
ways:
  low:
    drivers: [woofer left, woofer right]
    enclosure: {closed: 15 l}
    network: [series: {coil: 3.3 mH}, shunt: {capacitor: 68 uF}]
  middle:
    drivers: [midrange left, midrange right]
    wired: series
    enclosure: {closed: 2.8 l}
    network:
      - series: {capacitor: 33 uF}
      - shunt: {coil: 4.7 mH}
      - series: {coil: 0.68 mH}
      - shunt: {capacitor: 3.3 uF}
  high:
    drivers: [tweeter]
    network: [series: {capacitor: 4.7 uF}, shunt: {coil: 0.27 mH}]
"""
FIFTH_SEAT = "  armchair: {position: [2.3 m, 3.55 m], ear height: 1.00 m}\n"
HAIR_M = 1e-6


def least_ms(work: Callable[[], object], times: int = 7, clock: Callable[[], float] = process_time) -> float:
    """Shortest of several runs in time of this process: the machine has neighbours."""
    spent = []
    for _ in range(times):
        start = clock()
        work()
        spent.append(clock() - start)
    return 1000 * min(spent)


def five_drivers(folder: Path) -> Design:
    """Five drivers heard from five seats, on the example's brief."""
    shutil.copytree(EXAMPLE, folder, ignore=shutil.ignore_patterns("out"))
    brief = folder / "brief.yaml"
    text = brief.read_text(encoding="utf-8")
    stool = FIFTH_SEAT.replace("armchair", "stool").replace("3.55", "0.70")
    brief.write_text(text.replace(FIFTH_SEAT, FIFTH_SEAT + stool), encoding="utf-8")
    (folder / "five.yaml").write_text(FIVE, encoding="utf-8")
    return load(folder / "five.yaml")


def moved_by_a_hair(speaker: Speaker, times: int, names: tuple[str, ...]) -> Speaker:
    return speaker.with_moved({name: np.array([times * HAIR_M, 0.0]) for name in names})


def orbits(speaker: Speaker) -> None:
    speaker.pressure(Directions.horizontal_orbit())
    speaker.pressure(Directions.vertical_orbit())


def stages(situation: Situation) -> dict[str, tuple[Callable[[], object], float]]:
    """What is timed, with its bar [ms]."""
    speaker, sounds = situation.speaker, situation.sounds
    hair, everything, all_around = count(1), speaker.drivers, surroundings(speaker)
    orbits(speaker)

    def network_changed() -> None:
        network = solve_network(speaker.branches, speaker.impedance)
        heard_around(all_around, network.voltage, situation.smoothing)
        for sound in sounds:
            judge_seat(sound, network.voltage, situation.hearing)

    def causes_of_ten_holes() -> None:
        shape = moved_by_a_hair(speaker, next(hair), everything)
        angle = np.radians(np.arange(10) * 4.0 + 15.0)
        ears_m = 2.5 * np.stack([np.cos(angle), np.sin(angle), np.full(10, 0.1)], axis=1)
        holes_hz = [[900.0 + 50 * seat] for seat in range(10)]
        share_causes(shape, situation.network.voltage, ears_m, holes_hz, situation.smoothing)

    return {
        "both orbits, five drivers, with edges": (
            lambda: orbits(moved_by_a_hair(speaker, next(hair), everything)),
            150.0,
        ),
        "both orbits, one driver moved": (
            lambda: orbits(moved_by_a_hair(speaker, next(hair), everything[:1])),
            50.0,
        ),
        "network to all curves and five seats": (network_changed, 10.0),
        "causes of ten holes at ten seats": (causes_of_ten_holes, 1000.0),
        "both orbits and the sphere": (
            lambda: surroundings(moved_by_a_hair(speaker, next(hair), everything)),
            float("inf"),
        ),
    }


def whole_ways() -> dict[str, tuple[Callable[[], object], float]]:
    """Predictions of the example; answers kept from the run before count, as they do in use."""
    designs = [load(EXAMPLE / f"{name}.yaml") for name in CANDIDATES]
    ways: dict[str, tuple[Callable[[], object], float]] = {
        f"predict {design.title}": (lambda design=design: predict(design), float("inf")) for design in designs
    }
    ways["compare all three"] = (lambda: compare([predict(design) for design in designs]), 5000.0)
    return ways


def the_main_job(folder: Path) -> None:
    """Time `make demo` once it is set up: with nothing kept from before, and again."""
    files = [str(EXAMPLE / f"{name}.yaml") for name in CANDIDATES]
    command = [
        sys.executable,
        "-m",
        "forehear.app.cli",
        "compare",
        *files,
        "--report",
        str(folder / "r.html"),
    ]
    for words in ("from nothing", "the second time"):
        before, start = resource.getrusage(resource.RUSAGE_CHILDREN), perf_counter()
        subprocess.run(command, check=True, capture_output=True)
        clock_s, after = perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
        work_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        title = f"compare --report, {words}"
        print(f"{title:40s} {clock_s:7.1f} s by the clock, {work_s:.1f} s of all cores")


def told(title: str, spent_ms: float, bar_ms: float, yardstick_ms: float) -> None:
    bar = f", bar {bar_ms:4.0f}" if np.isfinite(bar_ms) else ""
    print(f"{title:40s} {spent_ms:7.1f} ms, {spent_ms / yardstick_ms:6.2f} of the yardstick{bar}")


def main() -> None:
    values = np.random.default_rng(0).normal(size=(500_000, 2)).view(complex)
    yardstick_ms = least_ms(lambda: np.exp(values))
    print(f"yardstick: half a million complex exponentials {yardstick_ms:.1f} ms")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["XDG_CACHE_HOME"] = str(Path(folder) / "cache")  # not what the user has kept
        the_main_job(Path(folder))
        design = five_drivers(Path(folder) / "five")
        situation = solve_situation(design, Hearing.standard())
        for title, (work, bar_ms) in stages(situation).items():
            told(title, least_ms(work), bar_ms, yardstick_ms)
        seeds = count(1)
        told(
            "ranges of five seats, all cores together",  # bar: two seconds of two cores
            least_ms(lambda: seat_ranges(situation, seed=next(seeds)), 3),
            4000.0,
            yardstick_ms,
        )
        told("predict, first time", least_ms(lambda: predict(design), 1), float("inf"), yardstick_ms)
        for title, (work, bar_ms) in whole_ways().items():
            told(title, least_ms(work, 2), bar_ms, yardstick_ms)
    start = [sys.executable, "-m", "forehear.app.cli", "--help"]
    told(
        "forehear --help, by the clock",
        least_ms(lambda: subprocess.run(start, check=True, capture_output=True), clock=perf_counter),
        250.0,
        yardstick_ms,
    )
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    print(f"{'peak memory':40s} {peak_mb:7.0f} MB, bar  500")


if __name__ == "__main__":
    if "OPENBLAS_NUM_THREADS" not in os.environ:  # one thread, as at the command line; read when numpy loads
        os.environ["OPENBLAS_NUM_THREADS"] = "1"
        os.execv(sys.executable, [sys.executable, *sys.argv])
    main()
