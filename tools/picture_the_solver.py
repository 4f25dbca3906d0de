"""Draw the pictures of docs/solver.md: error by angle against the libraries, and error against time.

The first solves the box that tools/ask_oracles.py asked about; the second reads what
tests/speed/bench_against_libraries.py stored. Run as ``PYTHONPATH=tests .venv/bin/python tools/picture_the_solver.py``.
"""

import tomllib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from forehear.publish.markup import element
from forehear.publish.pictures.axes import Ticks
from forehear.publish.pictures.lines import Line, Mark, Strip, chart
from forehear.publish.style import DARK, LIGHT, PICTURE
from forehear.radiation import Solver
from surfaces_asked import DENSITY_KG_M3, PISTONS, SOUND_SPEED_M_S, UNIT, box

HOUSE = Path(__file__).parent.parent
STORED = HOUSE / "tests" / "cross" / "data" / "surfaces.toml"
TIMES = HOUSE / "tests" / "speed" / "against_libraries.toml"
NAMES = ("woofer 65 mm", "midrange 35 mm", "tweeter 12.5 mm")
HZ = 2000.0
ELEMENTS_A_WAVELENGTH = 6
APART_DB = 0.4
THOUSAND = 1000.0  # decibels are told in thousandths: ticks have one digit after the point
SECONDS = Ticks(
    0.03, 1000.0, {0.1: "0.1 s", 1.0: "1", 10.0: "10", 100.0: "100", 1000.0: "1000"}, logarithmic=True
)
Floats = NDArray[np.float64]
Row = Mapping[str, Any]


def write(name: str, picture: str) -> None:
    """Write a chart of the report's own kind as a file that stands alone, in light and dark."""
    look = f":root{{{LIGHT}}}@media (prefers-color-scheme:dark){{:root{{{DARK}}}}}svg{{background:var(--card)"
    style = element("style", f"{look};font:13px system-ui,sans-serif}}{PICTURE}".replace("\n", ""))
    head, rest = picture.split(">", 1)
    namespace = "http://www.w3.org/2000/svg"  # a name, not an address
    (HOUSE / "docs" / name).write_text(f'{head} xmlns="{namespace}">{style}{rest}\n', encoding="utf-8")


def by_angle() -> None:
    """Levels of the three pistons around the box, and how far ours are from both libraries."""
    rows = {
        row["library"]: row
        for row in tomllib.loads(STORED.read_text(encoding="utf-8"))["box"]
        if row["hz"] == HZ
    }
    said = {
        name: np.array(row["pressure_real_pa"]) + 1j * np.array(row["pressure_imag_pa"])
        for name, row in rows.items()
    }
    mesh = box(SOUND_SPEED_M_S / HZ / ELEMENTS_A_WAVELENGTH)
    ours = Solver(mesh.surface, SOUND_SPEED_M_S, DENSITY_KG_M3).pressure(HZ, UNIT)
    level = np.abs(UNIT[:, 2]) < 1e-9
    level[len(UNIT) // 2 :] = False
    angle = np.degrees(np.arctan2(UNIT[level, 1], UNIT[level, 0]))
    order = np.argsort(angle)
    around = 20 * np.log10(np.abs(ours[:, level][:, order]))
    top = around.max(axis=1, keepdims=True)
    strips = [
        Strip(
            [
                Line(name, value, f"l{i}")
                for i, (name, value) in enumerate(zip(NAMES, around - top, strict=True))
            ],
            *(-35.0, 0.0, 10.0, " dB"),
        )
    ]
    for source in range(len(PISTONS)):
        apart = [
            Line(f"{NAMES[source].split()[0]}, from {library}", value, f"l{i}")
            for i, (library, value) in enumerate(
                (name, around[source] - 20 * np.log10(np.abs(other[source, level][order])))
                for name, other in said.items()
            )
        ]
        strips.append(Strip(apart, -APART_DB, APART_DB, APART_DB, " dB", height_px=90.0))
    ticks = Ticks(-180.0, 180.0, {float(a): f"{a}°".replace("-", "−") for a in range(-180, 181, 60)})
    title = f"Levels of three pistons around a box at {HZ:.0f} Hz, and differences of ours from two libraries"
    write("solver-angles.svg", chart(title, angle[order], strips, label_px=190.0, ticks=ticks))


def against_time() -> None:
    """Error around against seconds of all cores: ours from coarse to fine, and the libraries."""
    strips = []
    for case in tomllib.loads(TIMES.read_text(encoding="utf-8"))["case"]:
        own, others = (
            [row for row in case["line"] if row["who"].startswith("ours") is wanted]
            for wanted in (True, False)
        )
        strips.append(_strip(case["title"], own, others))
    title = "Root mean square error all around against seconds of all cores, ours and two libraries"
    write("solver-times.svg", chart(title, GRID_S, strips, label_px=150.0, ticks=SECONDS))


GRID_S = np.geomspace(SECONDS.low, SECONDS.high, 400)


def _strip(title: str, own: Sequence[Row], others: Sequence[Row]) -> Strip:
    seconds = np.array([row["cores_s"] for row in own])
    error = np.array([row["around_db"] for row in own]) * THOUSAND
    curve = np.interp(np.log(GRID_S), np.log(seconds), error, left=np.nan, right=np.nan)
    marks = [Mark(s, e, "", "l0") for s, e in zip(seconds.tolist(), error.tolist(), strict=True)]
    for place, row in enumerate(others, 1):
        marks.append(
            Mark(
                row["cores_s"],
                row["around_db"] * THOUSAND,
                row["who"].split(",")[0],
                f"l{place}",
                row["around_db"] == max(other["around_db"] for other in others),
            )
        )
    high = 40.0 * np.ceil(max(row["around_db"] for row in (*own, *others)) * THOUSAND / 40.0)
    return Strip(
        [Line(title, curve, "l0")], 0.0, float(high), float(high) / 2, "", height_px=120.0, marks=marks
    )


if __name__ == "__main__":
    by_angle()
    against_time()
