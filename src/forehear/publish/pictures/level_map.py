"""A map of level over frequency and angle, with its colour bar and the lines where it has fallen by 6 dB."""

from collections.abc import Sequence

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import ORBIT_ANGLES_DEG
from forehear.publish.markup import Markup, element, joined
from forehear.publish.pictures.axes import FREQUENCY_TICKS, Scale, box, frequency_axis, frequency_scale
from forehear.publish.pictures.colours import viridis
from forehear.publish.pictures.lines import picture, points
from forehear.publish.pictures.png import embedded, palette_png
from forehear.publish.words import number

WIDTH_PX, LEFT_PX, RIGHT_PX = 480.0, 54.0, 416.0
TOP_PX, BOTTOM_PX = 10.0, 236.0
BAR_LEFT_PX, BAR_RIGHT_PX = 428.0, 440.0
LOWEST_DB, HIGHEST_DB = -24.0, 6.0
ANGLE_TICKS = (-180, -120, -60, 0, 60, 120, 180)


def level_map(
    title: str, relative_db: FloatArray, lines_deg: Sequence[FloatArray], ends: tuple[str, str]
) -> Markup:
    """Draw level re on axis around one orbit; angle upward, colour for level.

    Parameters
    ----------
    title
        What the picture shows, for those who cannot see it. [-]
    relative_db
        Level re on axis at the same frequency, [angle, frequency] at the orbit's angles. [dB]
    lines_deg
        Lines drawn over the map, [frequency] each; not a number where there is none. [degrees]
    ends
        What the ends of the angle axis mean: at the top and at the bottom. [-]

    Returns
    -------
    Markup
        One SVG element. [-]
    """
    across = frequency_scale(LEFT_PX, RIGHT_PX)
    up = Scale(-182.5, 182.5, BOTTOM_PX, TOP_PX)
    whole = np.concatenate([relative_db[-1:], relative_db])[::-1]  # 180 degrees again as -180; top row first
    pieces = [
        _image(whole),
        _grid(across, up),
        *(_curve(line, across, up) for line in lines_deg),
        box(LEFT_PX, TOP_PX, RIGHT_PX, BOTTOM_PX),
        frequency_axis(across, BOTTOM_PX, BOTTOM_PX),
        _ends(up, ends),
        _colour_bar(),
    ]
    return picture(title, WIDTH_PX, BOTTOM_PX + 26, pieces)


def _entries(level_db: FloatArray) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    share = (level_db - LOWEST_DB) / (HIGHEST_DB - LOWEST_DB)
    return np.round(255 * np.clip(share, 0.0, 1.0)).astype(np.uint8)


def _image(level_db: FloatArray) -> Markup:
    return element(
        "image",
        href=embedded(palette_png(_entries(level_db), viridis())),
        x=LEFT_PX,
        y=TOP_PX,
        width=RIGHT_PX - LEFT_PX,
        height=BOTTOM_PX - TOP_PX,
        preserveAspectRatio="none",
    )


def _grid(across: Scale, up: Scale) -> Markup:
    pieces = []
    for tick in FREQUENCY_TICKS:
        x = across.at(float(tick))
        pieces.append(element("line", x1=x, x2=x, y1=TOP_PX, y2=BOTTOM_PX, class_="over"))
    for angle in ANGLE_TICKS:
        y = up.at(angle)
        pieces.append(element("line", x1=LEFT_PX, x2=RIGHT_PX, y1=y, y2=y, class_="over"))
        label = f"{number(angle)}°"
        pieces.append(element("text", label, x=LEFT_PX - 6, y=y + 4, text_anchor="end", class_="tick"))
    return joined(pieces)


def _curve(angle_deg: FloatArray, across: Scale, up: Scale) -> Markup:
    """Draw a line in pieces where it has gaps: white over a dark casing, to be seen on every colour."""
    pieces = []
    x, y = across.px(_orbit_frequencies(angle_deg.size)), up.px(angle_deg)
    finite = np.flatnonzero(np.isfinite(angle_deg))
    for run in np.split(finite, np.flatnonzero(np.diff(finite) > 1) + 1):
        if run.size > 1:
            way = points(x[run], y[run])
            pieces.append(element("polyline", points=way, class_="casing"))
            pieces.append(element("polyline", points=way, class_="white"))
    return joined(pieces)


def _orbit_frequencies(count: int) -> FloatArray:
    """Middles of equal steps in log f over the axis, as the pixels of the picture lie."""
    edges = np.geomspace(20.0, 20_000.0, count + 1)
    middles: FloatArray = np.sqrt(edges[1:] * edges[:-1])
    return middles


def _ends(up: Scale, ends: tuple[str, str]) -> Markup:
    top, bottom = ends
    return joined(
        [
            element("text", top, x=LEFT_PX + 8, y=up.at(90) - 4, class_="on-map"),
            element("text", bottom, x=LEFT_PX + 8, y=up.at(-90) + 12, class_="on-map"),
        ]
    )


def _colour_bar() -> Markup:
    up = Scale(LOWEST_DB, HIGHEST_DB, BOTTOM_PX, TOP_PX)
    pixels = np.arange(255, -1, -1, dtype=np.uint8)[:, np.newaxis]
    bar = element(
        "image",
        href=embedded(palette_png(pixels, viridis())),
        x=BAR_LEFT_PX,
        y=TOP_PX,
        width=BAR_RIGHT_PX - BAR_LEFT_PX,
        height=BOTTOM_PX - TOP_PX,
        preserveAspectRatio="none",
    )
    ticks = []
    for level in range(int(LOWEST_DB), int(HIGHEST_DB) + 1, 6):
        y = up.at(level)
        ticks.append(element("line", x1=BAR_LEFT_PX, x2=BAR_RIGHT_PX + 4, y1=y, y2=y, class_="frame"))
        words = "0 dB" if level == 0 else number(level)
        ticks.append(element("text", words, x=BAR_RIGHT_PX + 7, y=y + 4, class_="tick"))
    return joined([bar, box(BAR_LEFT_PX, TOP_PX, BAR_RIGHT_PX, BOTTOM_PX), *ticks])


def orbit_rows(relative_db: FloatArray, frequency_hz: FloatArray) -> list[list[str]]:
    """Return the map as numbers: every 30 degrees, at the ticks of the frequency axis (nearest band)."""
    nearest = [int(np.argmin(np.abs(np.log(frequency_hz / tick)))) for tick in FREQUENCY_TICKS]
    chosen = [int(np.flatnonzero(angle == ORBIT_ANGLES_DEG)[0]) for angle in range(180, -180, -30)]
    return [
        [
            f"{number(float(ORBIT_ANGLES_DEG[row]))}°",
            *(number(float(relative_db[row, f]), 1) for f in nearest),
        ]
        for row in chosen
    ]
