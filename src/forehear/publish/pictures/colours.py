"""Colour scales: evenly perceived ones, from the public-domain tables of matplotlib 3 (viridis, cividis)."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

# Every 17th entry of viridis; straight lines between them stay within 7 of 255 of the whole table.
VIRIDIS_ANCHORS = (
    "440154 481a6c 472f7d 414487 39568c 31688e 2a788e 23888e "
    "1f988b 22a884 35b779 54c568 7ad151 a5db36 d2e21b fde725"
)


def viridis() -> NDArray[np.uint8]:
    """Return the 256 colours of viridis [colour, (red, green, blue)], dark first."""
    anchors = np.array([list(bytes.fromhex(code)) for code in VIRIDIS_ANCHORS.split()])
    place = np.linspace(0, len(anchors) - 1, 256)
    channels = [np.interp(place, np.arange(len(anchors)), anchors[:, channel]) for channel in range(3)]
    return np.round(np.stack(channels, axis=1)).astype(np.uint8)


@dataclass(frozen=True)
class SpreadStep:
    """One of the five colours of a seat."""

    below_db: float  # spreads under this belong here, if no earlier step took them
    label: str
    fill: str  # cividis entries 250, 190, 132, 74 and 12
    ink: str  # look of the number printed on it


# The steps tell apart what the candidates of the example do at their seats.
SPREAD_STEPS = (
    SpreadStep(2.0, "under 2", "#fce236", "on-light"),
    SpreadStep(2.5, "2 to 2.5", "#baac6d", "on-light"),
    SpreadStep(3.0, "2.5 to 3", "#807f78", "on-light"),
    SpreadStep(3.5, "3 to 3.5", "#4d556c", "on-dark"),
    SpreadStep(float("inf"), "3.5 or more", "#002b62", "on-dark"),
)


def spread_step(spread_db: float) -> SpreadStep:
    """Return the colour step of a spread, judged on the number as printed (one decimal).

    Examples
    --------
    >>> spread_step(1.96).label, spread_step(1.94).label
    ('2 to 2.5', 'under 2')
    """
    printed = round(spread_db, 1)
    return next(step for step in SPREAD_STEPS if printed < step.below_db or step is SPREAD_STEPS[-1])
