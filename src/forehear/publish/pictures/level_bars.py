"""Bars of level from one common floor, in groups: how loud each part of a sound is."""

import math
from collections.abc import Sequence

from forehear.publish.markup import Markup, element, joined
from forehear.publish.pictures.axes import Scale, even_ticks, foot
from forehear.publish.pictures.lines import picture
from forehear.publish.words import clipped, number

WIDTH_PX = 480.0
LEFT_PX, RIGHT_PX = 122.0, 360.0
BAR_PX, BETWEEN_PX, TOP_PX, BOTTOM_PX = 16.0, 10.0, 6.0, 26.0
LONGEST_NAME = 17


def level_bars(title: str, groups: Sequence[tuple[str, Sequence[tuple[str, float]]]], unit: str) -> Markup:
    """Draw groups of named bars; the axis starts at a ten below the lowest.

    Parameters
    ----------
    title
        What the picture shows, for those who cannot see it. [-]
    groups
        Name of each group with names and levels of its bars, top first. [dB]
    unit
        Written behind the last tick. [-]

    Returns
    -------
    Markup
        One SVG element. [-]
    """
    levels = [level for _, bars in groups for _, level in bars]
    floor = 10.0 * math.floor(min(levels) / 10.0 - 0.1)
    ticks = even_ticks(floor, max(levels), 6, unit)
    across = ticks.scale(LEFT_PX, RIGHT_PX)
    pieces, top = [], TOP_PX
    for name, bars in groups:
        height = BAR_PX * len(bars)
        said = element("text", clipped(name, LONGEST_NAME), x=0.0, y=top + height / 2 + 4, class_="small")
        pieces += [
            said,
            *(_bar(told, rank, across, top + BAR_PX * rank) for rank, told in enumerate(bars)),
        ]
        top += height + BETWEEN_PX
    ground = foot(ticks, across, TOP_PX - 4, top - 4)
    return picture(title, WIDTH_PX, top + BOTTOM_PX, [ground, *pieces])


def _bar(told: tuple[str, float], rank: int, across: Scale, top: float) -> Markup:
    name, level = told
    end = across.at(level)
    return joined(
        [
            element(
                "rect",
                x=across.low_px,
                y=top,
                width=max(end - across.low_px, 1.0),
                height=BAR_PX - 3,
                class_=f"part p{rank % 4}",
            ),
            element("text", f"{name} {number(level)}", x=end + 5, y=top + 11, class_="small halo"),
        ]
    )
