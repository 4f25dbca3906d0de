"""Points in an infinite baffle, and how a bare printed number is held against an answer."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.axes import Directions
from forehear.radiation import Diaphragm, Front, instant_pressure
from published.printed import Case

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

C = 343.2
AIR = Air()
FRONT = Front.rectangle(1.0, 1.0, 1.0)  # without its edges it is an infinite baffle
POINT_M2 = 1e-4
POINT = Diaphragm((0.0, 0.0), 0.0, POINT_M2)


def named(case: Case) -> str:
    return case.id


def db(ratio: complex | Floats | Complexes) -> Floats:
    return np.asarray(20 * np.log10(np.abs(ratio)))


def off(case: Case, answer: float | Floats, printed: float | Sequence[float], kind: str = "abs") -> float:
    """How far answers lie from bare printed numbers, at worst, in units of what the case allows."""
    found, wanted = np.asarray(answer, dtype=np.float64), np.asarray(printed, dtype=np.float64)
    if kind == "deg":
        return float(np.max(np.abs((found - wanted + 180) % 360 - 180)) / case.tolerance["abs_deg"])
    if kind == "rel":
        return float(np.max(np.abs(found / wanted - 1)) / case.tolerance["rel"])
    return float(np.max(np.abs(found - wanted)) / case.tolerance.get("abs", case.tolerance.get("abs_dB")))


def toward(angle_deg: float | Floats) -> Directions:
    """Directions along the horizontal orbit."""
    return Directions.from_angles(np.radians(np.atleast_1d(angle_deg)), np.zeros(1))


def in_baffle(speaker: Diaphragm, directions: Directions, frequency_hz: Floats) -> Complexes:
    return instant_pressure(speaker, FRONT, directions, frequency_hz, AIR, edges=False)


def row(
    across_m: Sequence[float] | Floats,
    strength: Sequence[complex] | Floats,
    angle_deg: float | Floats,
    hz: float,
) -> Complexes:
    """Sum of points in a row across an infinite baffle, over one of them alone on axis."""
    frequency = np.array([hz])
    total = sum(
        volts * in_baffle(Diaphragm((across, 0.0), 0.0, POINT_M2), toward(angle_deg), frequency)[:, 0]
        for across, volts in zip(across_m, strength, strict=True)
    )
    alone = in_baffle(POINT, toward(0.0), frequency)
    return np.asarray(total / alone[0, 0])
