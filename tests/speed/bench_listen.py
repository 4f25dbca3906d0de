"""How long listening beforehand takes: the first sound of a seat, and speech for three candidates at five seats.

Run as ``python tests/speed/bench_listen.py``. By the clock, for both cores work, and beside it the work of all cores
together, which neighbours on the machine disturb less. Every run stands in a process of its own in which nothing is
kept; what loading the program takes is not counted, for the desk has it loaded.
"""

import json
import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "attic-cinema"
RUNS = 3
ONE_THREAD = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}  # of matrices, as at the command line
ONCE = """
import json, sys, time
from pathlib import Path
import numpy as np
from forehear.app.cli import HANDED_OVER_S
from forehear.design import load
from forehear.listen import Clip, bundled_clip, render
folder, names, seats, seconds = json.load(sys.stdin)
sys.setswitchinterval(HANDED_OVER_S)  # as at the command line
designs = [load(Path(folder) / f"{name}.yaml") for name in names]
start, work = time.perf_counter(), time.process_time()
clip = bundled_clip("speech")
sound = np.tile(clip.sound, (1, 3))[:, : round(seconds * 48_000)]
rendered = render(designs, seats, Clip("speech", sound, clip.origin))
print(json.dumps([time.perf_counter() - start, time.process_time() - work, len(rendered)]))
"""
FIFTH = "  behind: {position: [4.6 m, 2.10 m], ear height: 1.15 m}\n"
SEATS = ("sofa left", "sofa middle", "sofa right", "armchair", "behind")
ASKED = (
    ("one candidate, one seat, 9 s of speech: the first sound", ("twin",), SEATS[1:2], 10.0, 1.0),
    ("three candidates, one seat, 9 s", ("twin", "stack", "trio"), SEATS[1:2], 10.0, None),
    ("three candidates, five seats, 20 s", ("twin", "stack", "trio"), SEATS, 20.0, 5.0),
)


def timed(
    folder: Path, names: tuple[str, ...], seats: tuple[str, ...], seconds: float
) -> tuple[float, float]:
    """Least seconds by the clock and of work in a few runs."""
    runs = []
    for _ in range(RUNS):
        asked = json.dumps([str(folder), names, seats, seconds])
        run = subprocess.run(
            [sys.executable, "-c", ONCE],
            input=asked,
            capture_output=True,
            text=True,
            check=True,
            env=ONE_THREAD,
        )
        clock_s, work_s, count = json.loads(run.stdout)
        assert count == len(names) * len(seats)
        runs.append((clock_s, work_s))
    return min(run[0] for run in runs), min(run[1] for run in runs)


def main() -> None:
    """Print what each takes."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(shutil.copytree(EXAMPLE, Path(place) / "attic", ignore=shutil.ignore_patterns("out")))
        brief = folder / "brief.yaml"
        text = brief.read_text(encoding="utf-8")
        brief.write_text(text.replace("\nplacements:", f"{FIFTH}\nplacements:", 1), encoding="utf-8")
        for what, names, seats, seconds, bar_s in ASKED:
            clock_s, work_s = timed(folder, names, seats, seconds)
            bar = f"   bar {bar_s:g} s" if bar_s else ""
            print(f"{what:58s} {clock_s:5.2f} s by the clock, {work_s:5.2f} s of work{bar}")


if __name__ == "__main__":
    main()
