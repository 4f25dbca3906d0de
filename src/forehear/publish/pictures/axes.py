"""Scales from values to pixels, and the axes drawn along them."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.publish.markup import Markup, element, joined
from forehear.publish.words import MINUS, number

FREQUENCY_TICKS = {
    20: "20", 50: "50", 100: "100", 200: "200", 500: "500",
    1000: "1k", 2000: "2k", 5000: "5k", 10_000: "10k", 20_000: "20k",
}  # fmt: skip
LEAST_WIDE = 0.1  # of an axis: equal values need one, too
LOWEST_HZ, HIGHEST_HZ = 20.0, 20_000.0


@dataclass(frozen=True)
class Scale:
    """A straight or logarithmic way from values to pixels."""

    low: float
    high: float
    low_px: float
    high_px: float
    logarithmic: bool = False

    def px(self, value: FloatArray | float) -> FloatArray:
        """Return pixels of values; values outside land outside."""
        values = np.asarray(value, dtype=np.float64)
        if self.logarithmic:
            share = np.log(values / self.low) / math.log(self.high / self.low)
        else:
            share = (values - self.low) / (self.high - self.low)
        return np.asarray(self.low_px + share * (self.high_px - self.low_px))

    def at(self, value: float) -> float:
        """Return the pixel of one value."""
        return float(self.px(value))


@dataclass(frozen=True)
class Ticks:
    """The axis across the foot of a picture: its two ends, and its ticks with their labels."""

    low: float
    high: float
    labels: Mapping[float, str]
    logarithmic: bool = False

    def scale(self, left_px: float, right_px: float) -> Scale:
        """Return the way from its values to pixels."""
        return Scale(self.low, self.high, left_px, right_px, self.logarithmic)


FREQUENCIES = Ticks(
    LOWEST_HZ,
    HIGHEST_HZ,
    {hz: f"{label} Hz" if hz == LOWEST_HZ else label for hz, label in FREQUENCY_TICKS.items()},
    logarithmic=True,
)


def even_ticks(low: float, high: float, most: int = 6, unit: str = "") -> Ticks:
    """Return an axis whose ticks are evenly spaced by 1, 2 or 5 times a power of ten; it holds both ends.

    Examples
    --------
    >>> list(even_ticks(0.3, 2.2).labels.values())
    ['0', '0.5', '1', '1.5', '2', '2.5']
    """
    high = max(high, low + LEAST_WIDE)
    wide = high - low
    power = 10.0 ** math.floor(math.log10(wide / most))
    step = next(size * power for size in (1, 2, 5, 10, 20) if wide / (size * power) <= most - 1)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    values = [index * step for index in range(first, last + 1)]
    labels = {value: f"{value:g}".replace("-", MINUS) for value in values}
    return Ticks(values[0], values[-1], labels | {values[-1]: labels[values[-1]] + unit})


def frequency_scale(left_px: float, right_px: float) -> Scale:
    """Return the scale of every frequency axis."""
    return FREQUENCIES.scale(left_px, right_px)


def frequency_axis(scale: Scale, top_px: float, bottom_px: float, *, labels: bool = True) -> Markup:
    """Draw lines at the ten ticks of every frequency axis, their labels underneath."""
    return foot(FREQUENCIES, scale, top_px, bottom_px, labels=labels)


def foot(ticks: Ticks, scale: Scale, top_px: float, bottom_px: float, *, labels: bool = True) -> Markup:
    """Draw lines at the ticks of an axis, their labels underneath."""
    pieces = []
    for value, words in ticks.labels.items():
        x = scale.at(float(value))
        pieces.append(element("line", x1=x, x2=x, y1=top_px, y2=bottom_px, class_="grid"))
        if labels:
            pieces.append(element("text", words, x=x, y=bottom_px + 16, text_anchor="middle", class_="tick"))
    return joined(pieces)


def level_axis(scale: Scale, step: float, left_px: float, right_px: float, unit: str) -> Markup:
    """Draw lines at whole steps across the picture, their values to the left, the unit with the uppermost."""
    first, last = math.ceil(scale.low / step - 1e-9), math.floor(scale.high / step + 1e-9)
    pieces = []
    for index in range(first, last + 1):
        value = index * step
        y = scale.at(value)
        pieces.append(element("line", x1=left_px, x2=right_px, y1=y, y2=y, class_="grid"))
        label = number(value, 0 if float(step).is_integer() else 1) + (unit if index == last else "")
        pieces.append(element("text", label, x=left_px - 6, y=y + 4, text_anchor="end", class_="tick"))
    return joined(pieces)


def box(left_px: float, top_px: float, right_px: float, bottom_px: float) -> Markup:
    """Draw the frame of a chart."""
    size = {"width": right_px - left_px, "height": bottom_px - top_px}
    return element("rect", x=left_px, y=top_px, class_="frame", **size)


def apart(wanted_px: list[float], gap_px: float, top_px: float, bottom_px: float) -> list[float]:
    """Move labels as little as needed so that neighbours keep a distance; the order stays.

    Examples
    --------
    >>> apart([10.0, 12.0, 40.0], 14.0, 0.0, 100.0)
    [4.0, 18.0, 40.0]
    """
    order = sorted(range(len(wanted_px)), key=lambda index: (wanted_px[index], index))
    placed: list[float] = []
    for middle, count in _groups([wanted_px[index] for index in order], gap_px):
        placed.extend(middle + gap_px * (step - (count - 1) / 2) for step in range(count))
    placed = [max(y, top_px + gap_px * rank) for rank, y in enumerate(placed)]
    last = len(placed) - 1
    placed = [min(y, bottom_px - gap_px * (last - rank)) for rank, y in enumerate(placed)]
    return [placed[order.index(index)] for index in range(len(wanted_px))]


def _groups(sorted_px: list[float], gap_px: float) -> list[tuple[float, int]]:
    """Labels that would touch, as groups of a middle and a count."""
    groups: list[tuple[float, int]] = []
    for y in sorted_px:
        groups.append((y, 1))
        while (
            len(groups) > 1 and groups[-1][0] - groups[-2][0] < gap_px * (groups[-1][1] + groups[-2][1]) / 2
        ):
            (b, m), (a, n) = groups.pop(), groups.pop()
            groups.append(((a * n + b * m) / (n + m), n + m))
    return groups
