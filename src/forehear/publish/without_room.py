"""The same speaker without a room and in it: evenness, holes, and which reflections fill them."""

from forehear.judge import SPREAD_STEP, Hole
from forehear.judge.words import fills_sentence, frequency_words, room_fills_sentence
from forehear.publish.heard import ranged, seat_label
from forehear.publish.markup import Markup, element, figure, joined, table
from forehear.publish.pictures.dots import Dot, dot_key, dot_rows
from forehear.publish.seats import hole_words
from forehear.publish.words import NO_BREAK_SPACE, frequency, number, quantity
from forehear.spine.findings import story_of
from forehear.spine.hearable import range_of
from forehear.spine.prediction import HoleStory, Prediction, SeatResult

BOTH = {0: "without a room: the direct sound", 1: "in the room"}


def without_room_figures(prediction: Prediction, name: str) -> list[Markup]:
    """Draw spread and deepest hole of every seat, without the room and in it."""
    if not prediction.seats:
        return []
    spreads = [(_label(seat, prediction), _spread_dots(seat)) for seat in prediction.seats]
    holes = [(_label(seat, prediction), _hole_dots(seat)) for seat in prediction.seats]
    ranges = any(seat.ranges for seat in prediction.seats)
    sure = "A line through a dot: where the number lies with a chance of 90 %." if ranges else ""
    return [
        figure(
            joined(["Spread ", element("small", "the smaller the more even")]),
            joined(
                [
                    dot_key(BOTH),
                    dot_rows(f"Spread without the room and in it, {name}", spreads, " dB", SPREAD_STEP.step),
                ]
            ),
            _table(prediction),
            sure,
        ),
        figure(
            joined(["Deepest hole ", element("small", "below the trend; 0 dB where there is none")]),
            joined([dot_key(BOTH), dot_rows(f"Holes without the room and in it, {name}", holes, " dB")]),
            _fill_table(prediction),
            sure,
        ),
    ]


def without_room_words(prediction: Prediction) -> Markup:
    """Say for each seat what the room makes of its holes."""
    items = [
        element("li", f"{_label(seat, prediction)}: {words}")
        for seat in prediction.seats
        for words in [_seat_words(seat)]
        if words
    ]
    return element("ul", *items) if items else element("p", "No seat has a hole, with or without the room.")


def _label(seat: SeatResult, prediction: Prediction) -> str:
    return seat_label(seat, prediction.seats)


def _spread_dots(seat: SeatResult) -> list[Dot]:
    pairs = ((seat.direct_spread_db, "direct_spread_db"), (seat.spread_db, "spread_db"))
    return [
        _dot(seat, place, value, key, quantity(value, "dB", 1)) for place, (value, key) in enumerate(pairs)
    ]


def _hole_dots(seat: SeatResult) -> list[Dot]:
    return [
        _dot(seat, place, hole.depth_db if hole else 0.0, key, _hole(hole))
        for place, (hole, key) in enumerate(((seat.direct_hole, "direct_hole_db"), (seat.hole, "hole_db")))
    ]


def _dot(seat: SeatResult, place: int, value: float, key: str, words: str) -> Dot:
    within = range_of(seat, key)
    return Dot(value, words, place, within.low if within else None, within.high if within else None)


def _hole(hole: Hole | None) -> str:
    return f"{quantity(hole.depth_db, 'dB')} at {frequency(hole.frequency_hz)}" if hole else "none"


def _seat_words(seat: SeatResult) -> str:
    told = [_story_words(story) for story in seat.stories]
    if seat.hole and story_of(seat, seat.hole) is None:
        told.append(
            f"the hole of {seat.hole.depth_db:.0f} dB at {frequency_words(seat.hole.frequency_hz)} "
            "comes from no hole in the direct sound; it is there only with the room"
        )
    return f"{'; '.join(told)}." if told else ""


def _story_words(story: HoleStory) -> str:
    filled = story.hole.depth_db - story.depth_in_room_db
    fills = fills_sentence({fill.surface: fill.fill_db for fill in story.fills})
    by = f", {fills}" if filled >= 0.5 else ""
    return f"at {frequency_words(story.hole.frequency_hz)} {room_fills_sentence(filled, story.hole.depth_db)}{by}"


def _table(prediction: Prediction) -> Markup:
    """Tell both in numbers, and what a moved head makes of it."""
    heads = ["seat", "spread, direct", "spread", "hole, direct", "hole in the room"]
    moved = prediction.room.head_moved_db if prediction.room else None
    heads += ["spread, head moved"] if moved is not None else []
    rows = [
        [
            _label(seat, prediction),
            ranged(quantity(seat.direct_spread_db, "dB", 1), range_of(seat, "direct_spread_db"), 1),
            ranged(quantity(seat.spread_db, "dB", 1), range_of(seat, "spread_db"), 1),
            ranged(hole_words(seat.direct_hole), range_of(seat, "direct_hole_db")),
            ranged(hole_words(seat.hole), range_of(seat, "hole_db")),
            *([] if moved is None else [quantity(float(moved[index]), "dB", 1)]),
        ]
        for index, seat in enumerate(prediction.seats)
    ]
    return table(heads, rows)


def _fill_table(prediction: Prediction) -> Markup:
    """Tell by how much every reflection fills every direct hole."""
    told = [(seat, story) for seat in prediction.seats for story in seat.stories]
    if not told:
        return table(["direct hole"], [["none at any seat"]])
    surfaces = list(dict.fromkeys(fill.surface for _, story in told for fill in story.fills))
    rows = []
    for seat, story in told:
        fills = {fill.surface: fill.fill_db for fill in story.fills}
        rows.append(
            [
                f"{_label(seat, prediction)}, {hole_words(story.hole)}",
                quantity(story.depth_in_room_db, "dB", 1),
                *(number(fills[one], 1) if one in fills else "" for one in surfaces),
            ]
        )
    heads = ["direct hole", "left in the room", *(f"{one},{NO_BREAK_SPACE}dB" for one in surfaces)]
    return table(heads, rows)
