"""What every seat hears: the room from above, and the curves at each seat."""

from collections.abc import Collection, Sequence

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.judge import JUDGED_HZ, Hole
from forehear.publish.heard import ranged, seat_words
from forehear.publish.markup import Markup, element, figure, joined, table
from forehear.publish.overview import line_key, look_of
from forehear.publish.pictures.lines import Line, Mark, Strip, chart, level_range, level_step
from forehear.publish.pictures.plan import room_plan, spread_legend
from forehear.publish.scene import room_scene
from forehear.publish.tables import curve_table
from forehear.publish.words import frequency, number, quantity
from forehear.spine.hearable import C50, SPREAD, STI, U50, range_of
from forehear.spine.prediction import Prediction, SeatResult


def plans(predictions: Sequence[Prediction], names: Sequence[str]) -> Markup:
    """Return one plan of the room for each candidate."""
    drawn = []
    for name, prediction in zip(names, predictions, strict=True):
        scene = room_scene(prediction)
        title = f"Room from above with {name}: spread at each seat"
        words = f"spread among seats {quantity(prediction.spread_among_seats_db, 'dB', 1)}"
        caption = joined([name, " ", element("small", words)])
        drawn.append(figure(caption, room_plan(title, scene), seat_table(prediction)))
    return joined([spread_legend(), element("div", *drawn, class_="grid three")])


def seat_table(prediction: Prediction) -> Markup:
    """Tell the seats in numbers."""
    several = len({seat.placement for seat in prediction.seats}) > 1
    spoken = any(seat.speech for seat in prediction.seats)
    heads = ["seat", "angle", "distance", "spread", "spread, direct", "hole in the room", "hole, direct"]
    heads += ["C50", "U50", "STI", "speech", "noise"] if spoken else []
    sure = any(seat.ranges for seat in prediction.seats)
    heads += ["spread unsure most for"] if sure else []
    rows = [
        [
            f"{seat.name}, from {seat.placement}" if several else seat.name,
            f"{number(seat.azimuth_deg)}°",
            quantity(seat.distance_m, "m", 1),
            seat_words(seat, SPREAD),
            ranged(quantity(seat.direct_spread_db, "dB", 1), range_of(seat, "direct_spread_db"), 1),
            ranged(hole_words(seat.hole), range_of(seat, "hole_db")),
            ranged(hole_words(seat.direct_hole), range_of(seat, "direct_hole_db")),
            *(_speech_cells(seat) if spoken else ()),
            *([seat.ranges.matters_most if seat.ranges else ""] if sure else ()),
        ]
        for seat in prediction.seats
    ]
    return table(heads, rows)


def _speech_cells(seat: SeatResult) -> list[Markup | str]:
    if seat.speech is None:
        return [""] * 5
    levels = (seat.speech.speech_db_a, seat.speech.noise_db_a)
    return [
        *(seat_words(seat, what) for what in (C50, U50, STI)),
        *(quantity(level, "dB(A)") for level in levels),
    ]


def hole_words(hole: Hole | None) -> str:
    """Write a hole as depth and place."""
    if hole is None:
        return "none"
    return f"{quantity(-hole.depth_db, 'dB')} at {frequency(hole.frequency_hz)}"


def seat_curves(predictions: Sequence[Prediction], names: Sequence[str]) -> Markup:
    """Return one chart for each seat and placement, all on one level axis."""
    grid = predictions[0].grid
    for prediction in predictions[1:]:
        grid.require_same(prediction.grid)
    seats = by_place(predictions)
    if not seats:
        return element("p", "No seat hears any of these speakers.", class_="quiet")
    shown = level_range([seat.in_room_smoothed_db for row in seats.values() for seat in row.values()], grid)
    drawn = [
        _seat_figure(place_words(place, seats), heard, names, grid, shown) for place, heard in seats.items()
    ]
    return element("div", *drawn, class_="grid two")


def place_words(place: tuple[str, str], places: Collection[tuple[str, str]]) -> str:
    """Name a placement and seat among others; the placement only where there are several."""
    placement, seat = place
    return f"{seat}, hearing {placement}" if len({one for one, _ in places}) > 1 else seat


def by_place(predictions: Sequence[Prediction]) -> dict[tuple[str, str], dict[int, SeatResult]]:
    """Return seats of all candidates by placement and name, each with the candidate's number."""
    places: dict[tuple[str, str], dict[int, SeatResult]] = {}
    for index, prediction in enumerate(predictions):
        for seat in prediction.seats:
            places.setdefault((seat.placement, seat.name), {})[index] = seat
    return places


def _judged_only(level_db: FloatArray, grid: FrequencyGrid) -> FloatArray:
    """Keep the part of a trend that anything is judged against."""
    inside = (grid.frequency_hz >= JUDGED_HZ[0]) & (grid.frequency_hz <= JUDGED_HZ[1])
    return np.where(inside, level_db, np.nan)


def _seat_figure(
    words: str,
    heard: dict[int, SeatResult],
    names: Sequence[str],
    grid: FrequencyGrid,
    shown: tuple[float, float],
) -> Markup:
    lines: list[Line] = []
    marks: list[Mark] = []
    for index, seat in heard.items():
        look = look_of(index)
        lines += [
            Line(
                "trend", _judged_only(seat.in_room_trend_db, grid), f"{look} plain", thin=True, labelled=False
            ),
            Line("in room", seat.in_room_smoothed_db, look, labelled=len(names) == 1),
        ]
        if len(names) == 1:
            lines.append(Line("direct", seat.direct_smoothed_db, "l1", thin=True))
        marks += _hole_mark(seat, grid, look)
    strip = Strip(lines, *shown, level_step(shown), " dB", 200.0, marks, judged=True)
    key = line_key({index: _said(names[index], seat) for index, seat in heard.items()})
    caption = joined([words, " ", element("small", "spread, and the deepest hole in the room")])
    curves = {names[index]: seat.in_room_smoothed_db for index, seat in heard.items()}
    curves |= {f"{names[index]}, direct": seat.direct_smoothed_db for index, seat in heard.items()}
    drawn = chart(
        f"In-room level at {words}", grid.frequency_hz, [strip], label_px=76 if len(names) == 1 else 14
    )
    picture = joined([key, drawn])
    return figure(caption, picture, curve_table(grid, curves, "dB"))


def _said(name: str, seat: SeatResult) -> str:
    """Tell what a seat hears of a candidate, beside its line."""
    hole = f", {hole_words(seat.hole)}" if seat.hole else ""
    return f"{name}: {quantity(seat.spread_db, 'dB', 1)}{hole}"


def _hole_mark(seat: SeatResult, grid: FrequencyGrid, look: str) -> list[Mark]:
    """Mark the deepest hole on its curve."""
    if seat.hole is None:
        return []
    level = float(np.interp(seat.hole.frequency_hz, grid.frequency_hz, seat.in_room_smoothed_db))
    return [Mark(seat.hole.frequency_hz, level, "", look)]
