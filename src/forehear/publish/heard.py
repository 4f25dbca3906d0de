"""Numbers of seats as the report writes them: with their range, beside each other, and whether one could hear it."""

from collections.abc import Sequence

from forehear.judge import rating_word
from forehear.judge.noticeable import SAME
from forehear.publish.markup import Markup, element, escaped, joined, table
from forehear.publish.words import number, quantity
from forehear.spine.compare import main_seats
from forehear.spine.hearable import (
    HEARABLE,
    STI,
    UNSURE,
    Hearable,
    Stated,
    apart_words,
    at_main_seats,
    stated,
)
from forehear.spine.prediction import Prediction, Range, SeatResult


def seat_label(seat: SeatResult, seats: Sequence[SeatResult]) -> str:
    """Name a seat, with what it hears where there are several placements."""
    several = len({other.placement for other in seats}) > 1
    return f"{seat.name}, hearing {seat.placement}" if several else seat.name


def stated_words(told: Stated | None, what: Hearable) -> Markup:
    """Write a number, its word if it has one, and the range it lies in."""
    if told is None:
        return Markup("not known")
    said = quantity(told.value, what.unit, what.digits) if what.unit else number(told.value, what.digits)
    if what is STI:
        said = f"{said} {rating_word(told.value)}"
    return ranged(said, told.range, what.digits)


def ranged(said: str, within: Range | None, digits: int = 0) -> Markup:
    """Write a number's range behind it."""
    if within is None:
        return escaped(said)
    ends = f"({number(within.low, digits)} to {number(within.high, digits)})"
    return joined([said, " ", element("small", ends, class_="quiet")])


def seat_words(seat: SeatResult, what: Hearable) -> Markup:
    """Write a number of a seat."""
    return stated_words(stated(seat, what), what)


def difference(told: Sequence[Stated | None], what: Hearable, names: Sequence[str]) -> str:
    """Say how the highest of several candidates lies against the lowest."""
    known = sorted(
        ((one, name) for one, name in zip(told, names, strict=True) if one is not None),
        key=lambda pair: -pair[0].value,
    )
    if what.step is None or len(known) < 2:
        return ""
    (most, most_name), (least, least_name) = known[0], known[-1]
    words = apart_words(most, least, what.step)
    return words if words in (SAME, UNSURE) else f"{most_name} {words} than {least_name}"


def heard_table(predictions: Sequence[Prediction], names: Sequence[str]) -> Markup:
    """Set what people can hear side by side: the mean over the main seats of each candidate."""
    rows = []
    for what in HEARABLE:
        told = [at_main_seats(prediction, what) for prediction in predictions]
        if any(told):
            row = [what.name, *(stated_words(one, what) for one in told)]
            rows.append([*row, difference(told, what, names)] if len(names) > 1 else row)
    heads = ["", *names, *(["highest against lowest"] if len(names) > 1 else [])]
    return table(heads, rows, class_="even")


def heard_note(predictions: Sequence[Prediction]) -> Markup:
    """Say what the numbers side by side are made of."""
    seats = len(main_seats(predictions[0]))
    over = f"Over the {seats} main seats: " if seats > 1 else ""
    ranges = any(seat.ranges for prediction in predictions for seat in prediction.seats)
    sure = " In brackets: where the number lies with a chance of 90 %." if ranges else ""
    return element(
        "p",
        f"{over}spread as root mean square, the others as plain mean. What is less than the step that people "
        f"notice is called no difference you could hear (spread 1 dB, C50 1.1 dB, STI 0.03).{sure}",
        class_="note",
    )


def told_apart(predictions: Sequence[Prediction], what: Hearable) -> bool:
    """Tell whether anybody could hear, and be sure of, how the highest candidate lies against the lowest."""
    told = [at_main_seats(prediction, what) for prediction in predictions]
    return difference(told, what, [""] * len(told)) not in ("", SAME, UNSURE)
