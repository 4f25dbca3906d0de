"""Curves dropped on a driver: read, shown, and taken into its file; nothing is written before a save."""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import count
from pathlib import PurePosixPath
from typing import Any

import numpy as np

from forehear.app.desk.folder import Folder
from forehear.design import Change, Design
from forehear.ground.arrays import FloatArray
from forehear.ground.errors import DesignError
from forehear.ground.reading.curves import Curve, curve_from_text
from forehear.ground.reading.documents import Document
from forehear.ground.reading.quantities import write_quantity
from forehear.parts import DriverPart, driver_from

LARGEST_BYTES = 2_000_000
KINDS = ("response", "impedance")
DRAWN_POINTS = 240
MEASURED = {
    "mounted": "large baffle",
    "distance": "1 m",
    "voltage": "2.83 V",
}  # taken unless the page says else
ASKED = ("mounted", "distance", "voltage", "angle", "closed", "baffle", "cabinet")


@dataclass(frozen=True)
class Dropped:
    """A text that was dropped on a driver."""

    driver: str
    kind: str  # one of KINDS
    text: str


def part_with(document: Document, curves: Mapping[str, str]) -> DriverPart:
    """Make a driver whose curves may be held here rather than on disk; `curves` are named from the folder."""
    return driver_from(document, curves)


def preview(design: Design, dropped: Dropped) -> dict[str, Any]:
    """Say what a dropped text holds, and draw it; what cannot be read is said in the same words as anywhere.

    Raises
    ------
    DesignError, DataError
        When there is no such driver, or the text is no curve.
    """
    driver, kind = dropped.driver, dropped.kind
    part = _driver(design, driver, kind)
    curve = curve_from_text(dropped.text, f"dropped {kind}", above_zero=kind == "impedance")
    frequency_hz = np.geomspace(curve.frequency_hz[0], curve.frequency_hz[-1], DRAWN_POINTS)
    frequency_hz[0], frequency_hz[-1] = curve.frequency_hz[0], curve.frequency_hz[-1]
    return {
        "kind": "curve",
        "driver": driver,
        "part": part.name,
        "of": kind,
        "what": _words(curve, kind),
        "points": int(curve.frequency_hz.size),
        "lowest_hz": float(curve.frequency_hz[0]),
        "highest_hz": float(curve.frequency_hz[-1]),
        "with_phase": curve.phase_deg is not None,
        "replaces": (part.response if kind == "response" else part.impedance) is not None,
        "measured": dict(MEASURED) if kind == "response" else {},
        "frequency_hz": [round(float(hz), 3) for hz in frequency_hz],
        "value": _rounded(curve.at(frequency_hz).value),
    }


def taken(
    design: Design, dropped: Dropped, measured: Mapping[str, str], folder: Folder
) -> tuple[DriverPart, dict[str, str]]:
    """Return the driver with the curve in its file, and the file of the curve by its name in the folder.

    A curve never takes the name of a file that is there: what was measured before stays.

    Raises
    ------
    DesignError, DataError, Complaints
        When the curve does not fit the driver.
    """
    part, kind = _driver(design, dropped.driver, dropped.kind), dropped.kind
    label = PurePosixPath(part.document.label)
    names = (f"{label.stem}-{kind}{'' if number == 1 else f'-{number}'}.txt" for number in count(1))
    file = next(name for name in names if not folder.inside(str(label.parent / name)).exists())
    changes = [Change((kind, "file"), file)]
    if kind == "response":
        said = {**MEASURED, **measured} if part.response is None else dict(measured)
        changes += [Change((kind, key), said[key]) for key in ASKED if key in said]
    text = dropped.text if dropped.text.endswith("\n") else f"{dropped.text}\n"
    curves = {str(label.parent / file): text}
    return part_with(part.document.with_changes(changes), curves), curves


def _driver(design: Design, driver: str, kind: str) -> DriverPart:
    if driver not in design.driver:
        raise DesignError(f"there is no driver {driver[:40]!r}", cure="drop the curve on a driver")
    if kind not in KINDS:
        raise DesignError(f"a curve of kind {kind[:40]!r}", cure=f"name one of {', '.join(KINDS)}")
    return design.driver[driver].part


def _words(curve: Curve, kind: str) -> str:
    low, high = (_frequency(hz) for hz in (curve.frequency_hz[0], curve.frequency_hz[-1]))
    unit = "dB" if kind == "response" else "ohm"
    phase = "with phase" if curve.phase_deg is not None else "without phase"
    least, most = float(curve.value.min()), float(curve.value.max())
    return f"{curve.frequency_hz.size} points from {low} to {high}, {least:.4g} to {most:.4g} {unit}, {phase}"


def _frequency(hz: float) -> str:
    return write_quantity(float(hz), "kHz" if hz >= 1000 else "Hz", digits=4)


def _rounded(values: FloatArray) -> list[float]:
    return [round(float(value), 4) for value in values]
