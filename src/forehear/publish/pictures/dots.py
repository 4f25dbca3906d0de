"""Dots along one axis, a row for each thing: every series has its own shape and look, and its number beside it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from forehear.publish.markup import Markup, element, joined, short
from forehear.publish.pictures.axes import Scale, even_ticks, foot
from forehear.publish.pictures.lines import picture
from forehear.publish.words import clipped

WIDTH_PX = 480.0
LEFT_PX, RIGHT_PX = 122.0, 372.0
LINE_PX, BETWEEN_PX, TOP_PX, BOTTOM_PX = 17.0, 9.0, 6.0, 26.0
SIZE_PX = 5.0
LONGEST_NAME = 17
CORNERS: tuple[tuple[tuple[float, float], ...], ...] = (
    ((-1, -1), (1, -1), (1, 1), (-1, 1)),
    ((0, -1.2), (1.15, 0.9), (-1.15, 0.9)),
    ((0, -1.3), (1.3, 0), (0, 1.3), (-1.3, 0)),
)


@dataclass(frozen=True)
class Dot:
    """One value of a row, with its words and how sure it is; `place` chooses shape and look."""

    value: float
    words: str
    place: int
    low: float | None = None  # ends of its range; None where there is none
    high: float | None = None


def dot_rows(
    title: str,
    rows: Sequence[tuple[str, Sequence[Dot]]],
    unit: str,
    step: float | None = None,
    *,
    span: tuple[float, float] | None = None,
) -> Markup:
    """Draw rows of dots over one axis.

    Parameters
    ----------
    title
        What the picture shows, for those who cannot see it. [-]
    rows
        Name and dots of each, top first; a dot has a line of its own, so that none hides another. [unit]
    unit
        Written behind the last tick. [-]
    step
        The least difference that is heard, drawn to scale; the axis is at least four of them wide. [unit]
    span
        Ends of the axis; without them it is as wide as the dots need. [unit]

    Returns
    -------
    Markup
        One SVG element. [-]
    """
    shown = [end for _, dots in rows for dot in dots for end in _ends(dot)]
    low, high = span or (min(shown), max(shown))
    if step is not None and high - low < 4 * step:
        low, high = (low + high) / 2 - 2 * step, (low + high) / 2 + 2 * step
    ticks = even_ticks(low, high, 5, unit)
    across = ticks.scale(LEFT_PX, RIGHT_PX)
    pieces, top = [], TOP_PX
    for name, dots in rows:
        pieces.append(_row(name, dots, across, top))
        top += LINE_PX * len(dots) + BETWEEN_PX
    ground = foot(ticks, across, TOP_PX - 4, top - 4)
    height = top + BOTTOM_PX
    if step is not None:
        pieces.append(_step(step, across, height))
        height += LINE_PX + 4
    return picture(title, WIDTH_PX, height, [ground, *pieces])


def _step(step: float, across: Scale, top: float) -> Markup:
    """Draw the least difference that is heard, as long as it is on the axis."""
    left, y = across.low_px, top + LINE_PX / 2
    right = left + across.at(across.low + step) - across.low_px
    ends = (f"M{short(x)} {short(y - 4)}V{short(y + 4)}" for x in (left, right))
    bar = element("path", d=f"M{short(left)} {short(y)}H{short(right)}{''.join(ends)}", class_="step")
    return joined(
        [bar, element("text", "least difference you could hear", x=right + 8, y=y + 4, class_="small")]
    )


def dot_key(words: Mapping[int, str]) -> Markup:
    """Which shape is whose."""
    items = []
    for place, told in words.items():
        drawn = element(
            "svg", _shape(place, 10.0, 8.0), viewBox="0 0 20 16", role="img", aria_label=f"sign of {told}"
        )
        items.append(element("li", drawn, told))
    return element("ul", *items, class_="key signs")


def _ends(dot: Dot) -> tuple[float, ...]:
    return tuple(end for end in (dot.value, dot.low, dot.high) if end is not None)


def _row(name: str, dots: Sequence[Dot], across: Scale, top: float) -> Markup:
    middle = top + LINE_PX * len(dots) / 2
    said = element("text", clipped(name, LONGEST_NAME), x=0.0, y=middle + 4, class_="small")
    ends = [across.at(dot.value) for dot in dots]
    way = element(
        "line",
        x1=min(ends), x2=max(ends), y1=middle, y2=middle, class_="way",
    ) if len(dots) == 2 else Markup("")  # fmt: skip
    drawn = [_dot(dot, across, top + LINE_PX * (rank + 0.5)) for rank, dot in enumerate(dots)]
    return joined([said, way, *drawn])


def _dot(dot: Dot, across: Scale, y: float) -> Markup:
    pieces = []
    if dot.low is not None and dot.high is not None:
        low, high = across.at(dot.low), across.at(dot.high)
        look = f"range l{dot.place % 6}"
        pieces.append(element("line", x1=low, x2=high, y1=y, y2=y, class_=look))
    pieces.append(_shape(dot.place, across.at(dot.value), y))
    pieces.append(element("text", dot.words, x=RIGHT_PX + 12, y=y + 4, class_="small"))
    return joined(pieces)


def _shape(place: int, x: float, y: float) -> Markup:
    """Draw a disc, a square, a triangle or a diamond; from the fifth on they repeat, in other looks."""
    look, size = f"dot l{place % 6}", SIZE_PX
    if place % 4 == 0:
        return element("circle", cx=x, cy=y, r=size, class_=look)
    corners = CORNERS[place % 4 - 1]
    points = " ".join(f"{short(x + dx * size * 0.9)},{short(y + dy * size * 0.9)}" for dx, dy in corners)
    return element("polygon", points=points, class_=look)
