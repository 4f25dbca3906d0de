"""How long the room takes: images counted one by one, the quick form for a hand that drags, modes and speech.

Run as ``python tests/speed/bench_room.py``. Five drivers heard from five seats: by the clock, for images are summed
on all cores, and beside it the work of all cores together, which neighbours on the machine disturb less. Places are
moved by a hair before every run, so nothing kept from the run before answers. Where `make oracles` has been made,
pyroomacoustics counts as many images at the same seats in the same run: surfaces by octave, and a source with an
analytic pattern, which ours need not have.
"""

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from itertools import count
from pathlib import Path
from time import perf_counter

import numpy as np
from bench_spine import five_drivers, least_ms, moved_by_a_hair

from forehear.design import Design
from forehear.spine.hearing import Hearing, sound_at_seats, speech_at
from forehear.spine.pose import Pose
from forehear.spine.reverberation import FULL, QUICK, Carrying, Reverberation
from forehear.spine.situation import Situation, solve_situation
from forehear.spine.translate import programme_of

TOP = Path(__file__).resolve().parents[2]
ORACLE = TOP / ".venv-oracles" / "bin" / "python"
MANY = replace(FULL, images=11_000, modal=False)
HAIR_M = 1e-6
ONE_SOURCE = "11,000 images, one source"
ORDER = 20  # of the library's images: 11,521 of them
ASKED = """
import json, sys, time, warnings
import numpy as np, pyroomacoustics as pra
from pyroomacoustics.directivities import CardioidFamily, DirectionVector
warnings.simplefilter("ignore")
asked = json.load(sys.stdin)
walls = ("west", "east", "south", "north", "floor", "ceiling")
def once(octaves, pattern):
    rows = asked["absorption"]
    materials = {wall: pra.Material({"coeffs": row, "center_freqs": asked["octave_hz"]} if octaves else row[4])
                 for wall, row in zip(walls, rows)}
    room = pra.ShoeBox(asked["size_m"], fs=asked["rate_hz"], materials=materials, max_order=asked["order"])
    ahead = CardioidFamily(orientation=DirectionVector(azimuth=0, colatitude=90), p=0.5, gain=1.0)
    room.add_source(asked["source_m"], directivity=ahead if pattern else None)
    room.add_microphone_array(np.array(asked["ears_m"]).T)
    start = time.perf_counter()
    room.image_source_model()
    room.compute_rir()
    return 1000 * (time.perf_counter() - start), room.sources[0].images.shape[1]
found = {}
for name, about in (("flat surfaces, alike all round", (False, False)),
                    ("surfaces by octave, alike all round", (True, False)),
                    ("surfaces by octave, an analytic pattern", (True, True))):
    times = [once(*about) for _ in range(5)]
    found[name] = min(time for time, _ in times)
    found["images"] = times[0][1]
json.dump(found, sys.stdout)
"""


def clock_ms(work: Callable[[], object], times: int = 9) -> float:
    return least_ms(work, times, perf_counter)


def nudged(pose: Pose, times: int) -> Pose:
    x, y, z = pose.middle_of_front_m
    return replace(pose, middle_of_front_m=(x + times * HAIR_M, y, z))


def counted(situation: Situation) -> dict[str, tuple[Callable[[], object], float]]:
    """Many images at five seats, with its bar [ms]."""
    speaker, scene, hair = situation.speaker, situation.scene, count(1)
    pose, ears_m = scene.poses[0], [np.array(ear.position_m) for ear in scene.ears]

    def later(names: Sequence[str]) -> None:
        moved = moved_by_a_hair(speaker, next(hair), tuple(names))
        Reverberation(moved, pose, scene.shoebox, MANY).later_pressure(ears_m)

    def moved_speaker() -> None:
        Reverberation(speaker, nudged(pose, next(hair)), scene.shoebox, MANY).later_pressure(ears_m)

    def modes() -> None:
        Reverberation(speaker, nudged(pose, next(hair)), scene.shoebox, FULL).modal_transfers(ears_m)

    later(speaker.drivers)
    return {
        ONE_SOURCE: (lambda: later(speaker.drivers[:1]), 150.0),
        "11,000 images, five drivers": (lambda: later(speaker.drivers), float("inf")),
        "the same, the cabinet moved": (moved_speaker, float("inf")),
        "modes up to 125 Hz": (modes, float("inf")),
    }


def heard(situation: Situation, design: Design) -> dict[str, tuple[Callable[[], object], float]]:
    """All that five seats hear, with its bar [ms]."""
    speaker, scene, hair = situation.speaker, situation.scene, count(1)
    volts, programme = situation.network.voltage, programme_of(design.brief)

    def moved(names: Sequence[str], carrying: Carrying) -> None:
        other = moved_by_a_hair(speaker, next(hair), tuple(names))
        sound_at_seats(Reverberation(other, scene.poses[0], scene.shoebox, carrying), scene.ears)

    def speech() -> None:
        for sound in situation.sounds:
            speech_at(replace(sound), volts, programme)  # a new one knows nothing yet

    ways: dict[str, tuple[Callable[[], object], float]] = {}
    for name, carrying in (("quick", QUICK), ("full", FULL)):
        moved(speaker.drivers, carrying)
        one, every = (partial(moved, names, carrying) for names in (speaker.drivers[:1], speaker.drivers))
        ways[f"{name}, all heard, one driver moved"] = (one, 30.0 if name == "quick" else float("inf"))
        ways[f"{name}, all heard, five drivers moved"] = (every, float("inf"))
    ways["clarity of speech"] = (speech, float("inf"))
    return ways


def library_ms(situation: Situation) -> dict[str, float]:
    """Ask the library for the same room and seats, in a process of its own."""
    asked = {
        "size_m": situation.scene.shoebox.size_m,
        "absorption": situation.scene.shoebox.absorption[:, 1:].tolist(),
        "octave_hz": [125, 250, 500, 1000, 2000, 4000, 8000],
        "source_m": situation.scene.poses[0].middle_of_front_m,
        "ears_m": [ear.position_m for ear in situation.scene.ears],
        "order": ORDER,
        "rate_hz": 48_000,
    }
    answer = subprocess.run(
        [ORACLE, "-c", ASKED], input=json.dumps(asked), capture_output=True, text=True, check=True
    )
    found: dict[str, float] = json.loads(answer.stdout)
    return found


def main() -> None:
    """Print every stage beside the yardstick, and the library's beside ours."""
    values = np.random.default_rng(0).normal(size=(500_000, 2)).view(complex)
    yardstick_ms = clock_ms(lambda: np.exp(values))
    print(
        f"yardstick: half a million complex exponentials {yardstick_ms:.1f} ms; load {os.getloadavg()[0]:.1f}"
    )
    with tempfile.TemporaryDirectory() as folder:
        design = five_drivers(Path(folder) / "five")
        situation = solve_situation(design, Hearing.standard())
        took: dict[str, float] = {}
        for title, (work, bar_ms) in (counted(situation) | heard(situation, design)).items():
            took[title] = clock_ms(work)
            bar = f", bar {bar_ms:4.0f}" if np.isfinite(bar_ms) else ""
            ratio = f"{took[title] / yardstick_ms:6.2f} of the yardstick"
            print(f"{title:40s} {took[title]:7.1f} ms, {least_ms(work):7.1f} ms of work, {ratio}{bar}")
    if not ORACLE.exists():
        print("no library beside it: `make oracles` sets one up")
        return
    library = library_ms(situation)
    ours = took[ONE_SOURCE]
    print(f"pyroomacoustics, {library.pop('images'):.0f} images, five seats, one source")
    for name, spent in library.items():
        print(f"  {name:38s} {spent:7.1f} ms, {ours / spent:5.2f} of it is ours")


if __name__ == "__main__":
    if "OPENBLAS_NUM_THREADS" not in os.environ:  # one thread, as at the command line; read when numpy loads
        os.environ["OPENBLAS_NUM_THREADS"] = "1"
        os.execv(sys.executable, [sys.executable, *sys.argv])
    main()
