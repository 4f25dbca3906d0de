"""Signed bars: how many dB of a hole each cause is worth."""

from collections.abc import Sequence

from forehear.publish.markup import Markup, element, joined
from forehear.publish.pictures.axes import Scale
from forehear.publish.pictures.lines import picture
from forehear.publish.words import clipped, number

WIDTH_PX = 380.0
BARS_LEFT_PX, BARS_RIGHT_PX = 162.0, 322.0
ROW_PX = 24.0


def signed_bars(title: str, rows: Sequence[tuple[str, float]], longest_db: float) -> Markup:
    """Draw bars from a zero line; to the right deepens the hole, to the left fills it.

    Parameters
    ----------
    title
        What the picture shows, for those who cannot see it. [-]
    rows
        Name and worth of each bar, top first. [dB]
    longest_db
        Worth of the longest bar among the pictures that are read together, so that they share one scale. [dB]

    Returns
    -------
    Markup
        One SVG element. [-]
    """
    lowest = min([0.0, *(worth for _, worth in rows)])
    along = Scale(min(lowest, -0.12 * longest_db), longest_db, BARS_LEFT_PX, BARS_RIGHT_PX)
    bottom = ROW_PX * len(rows) + 6
    zero = element("line", x1=along.at(0.0), x2=along.at(0.0), y1=2.0, y2=bottom - 4, class_="rule")
    bars = [_bar(name, worth, along, 4 + ROW_PX * index) for index, (name, worth) in enumerate(rows)]
    return picture(title, WIDTH_PX, bottom, [*bars, zero])


def _bar(name: str, worth: float, along: Scale, top: float) -> Markup:
    start, end = sorted((along.at(0.0), along.at(worth)))
    look = "fills" if worth < 0 else "deepens"
    return joined(
        [
            element("text", clipped(name, 24), x=0.0, y=top + 14, class_="small"),
            element("rect", x=start, y=top, width=max(end - start, 1.0), height=ROW_PX - 8, class_=look),
            element(
                "text", f"{number(worth, 1)} dB", x=max(end, along.at(0.0)) + 5, y=top + 13, class_="small"
            ),
        ]
    )
