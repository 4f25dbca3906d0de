"""How clear speech is at each seat, candidate beside candidate."""

from collections.abc import Sequence

from forehear.judge.noticeable import SAME
from forehear.publish.heard import difference, seat_words
from forehear.publish.markup import Markup, element, figure, joined, table
from forehear.publish.pictures.dots import Dot, dot_key, dot_rows
from forehear.publish.scene import programme_words
from forehear.publish.seats import by_place, place_words
from forehear.publish.words import number, quantity
from forehear.spine.hearable import C50, STI, U50, UNSURE, Hearable, stated
from forehear.spine.prediction import Prediction, SeatResult

Places = dict[tuple[str, str], dict[int, SeatResult]]  # by placement and seat, then by candidate
C50_CAPTION = "speech that arrives within 50 ms over what comes later; mean of the octaves 500 Hz to 4 kHz"
STI_CAPTION = "how much of the rise and fall of speech arrives, 0 to 1; bad below 0.30, excellent from 0.75"


def speech_section(predictions: Sequence[Prediction], names: Sequence[str]) -> Markup:
    """Return clarity and intelligibility at every seat."""
    places = {
        place: heard
        for place, heard in by_place(predictions).items()
        if all(seat.speech for seat in heard.values())
    }
    if not places:
        return element("p", "Speech was not asked for.", class_="quiet")
    assumed = element("p", f"Assumed: {programme_words(predictions[0].design)}.", class_="note")
    pictures = (_picture(places, names, C50, C50_CAPTION), _picture(places, names, STI, STI_CAPTION))
    return joined([assumed, _told(places, names), element("div", *pictures, class_="grid two")])


def _picture(places: Places, names: Sequence[str], what: Hearable, words: str) -> Markup:
    rows = [
        (place_words(place, places), [_dot(index, seat, what) for index, seat in heard.items()])
        for place, heard in places.items()
    ]
    key = dot_key(dict(enumerate(names))) if len(names) > 1 else Markup("")
    ranged = any(dot.low is not None for _, dots in rows for dot in dots)
    note = "A line through a dot: where the number lies with a chance of 90 %." if ranged else ""
    caption = joined([f"{what.name[0].upper()}{what.name[1:]} ", element("small", words)])
    unit = f" {what.unit}" if what.unit else ""
    picture = joined(
        [key, dot_rows(f"{what.name} at every seat", rows, unit, what.step.step if what.step else None)]
    )
    return figure(caption, picture, _table(places, names, what), note)


def _dot(index: int, seat: SeatResult, what: Hearable) -> Dot:
    told = stated(seat, what)
    assert told is not None  # seats without speech were left out
    low, high = (told.range.low, told.range.high) if told.range else (None, None)
    return Dot(told.value, number(told.value, what.digits), index, low, high)


def _table(places: Places, names: Sequence[str], what: Hearable) -> Markup:
    """Tell every number of speech behind a picture; beside C50 the U50, beside STI the levels."""
    beside = _with_u50 if what is C50 else _with_levels
    heads = ["seat", *(f"{name}: {said}" for name in names for said in beside(None))]
    several = len(names) > 1
    rows = []
    for place, heard in places.items():
        row: list[str] = [place_words(place, places)]
        for index in range(len(names)):
            row += beside(heard[index]) if index in heard else ["" for _ in beside(None)]
        if several:
            told = [stated(seat, what) for seat in heard.values()]
            row.append(difference(told, what, [names[index] for index in heard]))
        rows.append(row)
    return table([*heads, *(["highest against lowest"] if several else [])], rows)


def _with_u50(seat: SeatResult | None) -> list[str]:
    return ["C50", "U50"] if seat is None else [seat_words(seat, C50), seat_words(seat, U50)]


def _with_levels(seat: SeatResult | None) -> list[str]:
    if seat is None or seat.speech is None:
        return ["STI", "speech", "noise"]
    levels = (seat.speech.speech_db_a, seat.speech.noise_db_a)
    return [seat_words(seat, STI), *(quantity(level, "dB(A)") for level in levels)]


def _told(places: Places, names: Sequence[str]) -> Markup:
    """Say where candidates can be told apart by ear."""
    if len(names) < 2:
        return Markup("")
    items = []
    for what in (C50, STI):
        heard: list[str] = []
        for place, seats in places.items():
            told = [stated(seat, what) for seat in seats.values()]
            words = difference(told, what, [names[index] for index in seats])
            if words not in ("", SAME, UNSURE):
                heard.append(f"{place_words(place, places)}: {words}")
        said = "; ".join(heard) if heard else f"{SAME} at any seat"
        items.append(element("li", f"{what.name[0].upper()}{what.name[1:]}, highest against lowest: {said}."))
    return element("ul", *items)
