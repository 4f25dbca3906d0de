"""Curves over frequency or another axis, in one strip or in several that share it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.judge import JUDGED_HZ
from forehear.publish.markup import Markup, element, joined, short
from forehear.publish.pictures.axes import FREQUENCIES, Scale, Ticks, apart, box, foot, level_axis
from forehear.publish.words import clipped

WIDTH_PX = 480.0
LEFT_PX = 54.0
TOP_PX = 10.0
BETWEEN_PX = 16.0
BOTTOM_PX = 26.0
LABEL_GAP_PX = 14.0
LETTER_PX = 6.6  # a letter of a name, in the widest of the fonts


@dataclass(frozen=True, eq=False)
class Line:
    """One curve; `look` names its colour and dash in the style sheet."""

    name: str
    value: FloatArray  # along the axis; not a number where it is not drawn
    look: str
    thin: bool = False
    labelled: bool = True


@dataclass(frozen=True)
class Mark:
    """One point worth a dot and perhaps words; `above` puts the words above it."""

    at: float  # along the axis
    value: float
    words: str
    look: str
    above: bool = False


@dataclass(frozen=True)
class Rule:
    """A level line, or an upright one, with its meaning."""

    value: float
    words: str


@dataclass(frozen=True, eq=False)
class Strip:
    """One chart of a stack."""

    lines: Sequence[Line]
    low: float
    high: float
    step: float
    unit: str
    height_px: float = 190.0
    marks: Sequence[Mark] = ()
    rules: Sequence[Rule] = ()
    uprights: Sequence[Rule] = ()
    judged: bool = False


def chart(
    title: str,
    along: FloatArray,
    strips: Sequence[Strip],
    *,
    label_px: float = 14.0,
    ticks: Ticks = FREQUENCIES,
) -> Markup:
    """Draw strips one under the other over one axis; lines are named at their right ends.

    Parameters
    ----------
    title
        What the picture shows, for those who cannot see it. [-]
    along
        Where the values of every line are. [Hz, or what the ticks say]
    strips
        Top first. [-]
    label_px
        Room for the names on the right. [px]
    ticks
        The axis; that of every frequency chart unless given. [-]

    Returns
    -------
    Markup
        One SVG element. [-]
    """
    across = ticks.scale(LEFT_PX, WIDTH_PX - label_px)
    pieces, top = [], TOP_PX
    for index, strip in enumerate(strips):
        last = index == len(strips) - 1
        bottom = top + strip.height_px
        pieces += [_strip_ground(strip, across, top), foot(ticks, across, top, bottom, labels=last)]
        pieces.append(_strip(strip, along, across, top))
        top += strip.height_px + BETWEEN_PX
    height = top - BETWEEN_PX + BOTTOM_PX
    return picture(title, WIDTH_PX, height, pieces)


def picture(title: str, width_px: float, height_px: float, pieces: Sequence[str]) -> Markup:
    """Make one SVG element with its title, drawn at its natural size or smaller."""
    return element(
        "svg",
        *pieces,
        viewBox=f"0 0 {short(width_px)} {short(height_px)}",
        role="img",
        aria_label=title,
        style=f"max-width:{short(width_px * 1.2)}px",
    )


def level_range(
    curves_db: Sequence[FloatArray], grid: FrequencyGrid, most_db: float = 60.0
) -> tuple[float, float]:
    """Return an axis in fives that shows curves whole from 40 Hz to 16 kHz, 25 dB high at least."""
    shown = (grid.frequency_hz >= 40.0) & (grid.frequency_hz <= 16_000.0)
    highest = max(float(np.max(curve)) for curve in curves_db)
    lowest = min(float(np.min(curve[shown])) for curve in curves_db)
    high = 5.0 * math.ceil((highest + 1.5) / 5.0)
    low = 5.0 * math.floor((lowest - 1.5) / 5.0)
    return min(max(low, high - most_db), high - 25.0), high


def level_step(shown: tuple[float, float]) -> float:
    """Return steps of five, or of ten on a tall axis."""
    return 5.0 if shown[1] - shown[0] <= 35.0 else 10.0


def _strip_ground(strip: Strip, across: Scale, top: float) -> Markup:
    return _judged(across, top, top + strip.height_px) if strip.judged else Markup("")


def _strip(strip: Strip, along: FloatArray, across: Scale, top: float) -> Markup:
    left, right, bottom = across.low_px, across.high_px, top + strip.height_px
    up = Scale(strip.low, strip.high, bottom, top)
    axes = (level_axis(up, strip.step, left, right, strip.unit), box(left, top, right, bottom))
    drawn = [*(_rule(rule, up, across, strip.marks) for rule in strip.rules)]
    drawn += [_upright(rule, across, top, bottom) for rule in strip.uprights]
    drawn += [_line(line, along, across, up) for line in strip.lines]
    inside = element(
        "svg",
        *drawn,
        x=left,
        y=top,
        width=right - left,
        height=strip.height_px,
        viewBox=" ".join(short(v) for v in (left, top, right - left, strip.height_px)),
        role="presentation",
    )
    marks = [_mark(mark, across, up) for mark in strip.marks]
    return joined([*axes, inside, *marks, _names(strip, up, right)])


def _judged(across: Scale, top: float, bottom: float) -> Markup:
    left, right = across.at(JUDGED_HZ[0]), across.at(JUDGED_HZ[1])
    return element("rect", x=left, y=top, width=right - left, height=bottom - top, class_="judged")


def points(x_px: FloatArray, y_px: FloatArray) -> str:
    """Points of a polyline to a tenth of a pixel."""
    return " ".join(f"{short(x)},{short(y)}" for x, y in zip(x_px.tolist(), y_px.tolist(), strict=True))


def _line(line: Line, along: FloatArray, across: Scale, up: Scale) -> Markup:
    far = 4 * abs(up.low_px - up.high_px)  # what lies outside is cut off; endless numbers only fill the file
    known = np.isfinite(line.value)
    y = np.clip(up.px(line.value[known]), up.high_px - far, up.low_px + far)
    look = f"line {line.look}{' thin' if line.thin else ''}"
    return element("polyline", points=points(across.px(along[known]), y), class_=look)


def _rule(rule: Rule, up: Scale, across: Scale, marks: Sequence[Mark]) -> Markup:
    """Draw a level line; its words stand under it, on the side away from the marks."""
    left, right, y = across.low_px, across.high_px, up.at(rule.value)
    marked_right = any(across.at(mark.at) > (left + right) / 2 for mark in marks)
    x, anchor = (left + 6, "start") if marked_right else (right - 6, "end")
    return joined(
        [
            element("line", x1=left, x2=right, y1=y, y2=y, class_="rule"),
            element("text", rule.words, x=x, y=y + 14, text_anchor=anchor, class_="small halo"),
        ]
    )


def _upright(rule: Rule, across: Scale, top: float, bottom: float) -> Markup:
    """Draw an upright line; its words stand at its head, on the side where there is room."""
    x = across.at(rule.value)
    line = element("line", x1=x, x2=x, y1=top, y2=bottom, class_="rule")
    if not rule.words:
        return line
    near_end = across.high_px - x < LETTER_PX * (len(rule.words) + 2)
    at, anchor = (x - 5, "end") if near_end else (x + 5, "start")
    words = element("text", rule.words, x=at, y=top + 14, text_anchor=anchor, class_="small halo")
    return joined([line, words])


def _mark(mark: Mark, across: Scale, up: Scale) -> Markup:
    x, y = across.at(mark.at), min(max(up.at(mark.value), up.high_px), up.low_px)
    dot = element("circle", cx=x, cy=y, r=4.0, class_=f"dot {mark.look}")
    if not mark.words:
        return dot
    share = (x - across.low_px) / (across.high_px - across.low_px)
    anchor = "start" if share < 0.2 else "end" if share > 0.8 else "middle"
    look = f"small halo t-{mark.look}"
    words = element(
        "text", mark.words, x=x, y=y - 9 if mark.above else y + 17, text_anchor=anchor, class_=look
    )
    return joined([dot, words])


def _names(strip: Strip, up: Scale, right: float) -> Markup:
    named = [line for line in strip.lines if line.labelled]
    ends = [min(max(up.at(float(line.value[-1])), up.high_px), up.low_px) for line in named]
    placed = apart(ends, LABEL_GAP_PX, up.high_px + 4, up.low_px - 2)
    pieces = []
    for line, end, y in zip(named, ends, placed, strict=True):
        way = f"{short(right + 1)},{short(end)} {short(right + 6)},{short(y)} {short(right + 20)},{short(y)}"
        pieces.append(element("polyline", points=way, class_=f"line {line.look}"))
        name = clipped(line.name, int((WIDTH_PX - right - 23) / LETTER_PX))
        pieces.append(element("text", name, x=right + 23, y=y + 4, class_=f"name t-{line.look}"))
    return joined(pieces)
