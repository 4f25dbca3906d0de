"""All speakers of a room at once: what each seat hears of each and of the sum, and how the centre fits the others."""

from collections.abc import Sequence

from forehear.judge.words import listed
from forehear.publish.markup import Markup, element, joined, table
from forehear.publish.words import quantity
from forehear.spine.prediction import Fit, Prediction, Together

SUM_WORDS = "All playing at once, each something of its own, 2.83 V each; their energies add."
FIT_WORDS = (
    "Louder: mean of 300 Hz to 3 kHz. Timbre: what differs from 200 Hz to 10 kHz once they are equally loud, "
    "root mean square. Bass: how much deeper the others reach, where the level is 6 dB down."
)
LEAST_LOUDER_DB, LEAST_TIMBRE_DB, LEAST_OCTAVES = 0.5, 0.5, 0.1


def together_section(predictions: Sequence[Prediction], names: Sequence[str]) -> Markup:
    """Return one card for each candidate that stands in a room with others."""
    pieces: list[Markup] = []
    for prediction, name in zip(predictions, names, strict=True):
        if prediction.together:
            pieces.append(_card(prediction.together, name))
    return joined(pieces)


def _card(together: Together, name: str) -> Markup:
    return element(
        "div",
        element("h3", name),
        element("p", element("b", "Spread at each seat")),
        _spread_table(together),
        element("p", SUM_WORDS, class_="note"),
        element("p", element("b", "How one fits the others")),
        element("ul", *(element("li", fit_words(fit)) for fit in together.fits)),
        _fit_table(together),
        element("p", FIT_WORDS, class_="note"),
        class_="card spaced",
    )


def _spread_table(together: Together) -> Markup:
    rows = [
        [
            f"{playing.placement} ({playing.title})",
            *(quantity(value, "dB", 1) for value in playing.spread_db.tolist()),
        ]
        for playing in together.each
    ]
    rows.append(["together", *(quantity(value, "dB", 1) for value in together.sum_spread_db.tolist())])
    return table(["speaker", *together.seats], rows)


def _fit_table(together: Together) -> Markup:
    rows = [
        [
            fit.seat,
            f"{fit.placement} against {listed(fit.others)}",
            quantity(fit.louder_db, "dB", 1),
            quantity(fit.timbre_db, "dB", 1),
            quantity(fit.bass_octaves, "octaves", 1),
        ]
        for fit in together.fits
    ]
    return table(["seat", "which", "louder by", "timbre apart", "others reach deeper by"], rows)


def fit_words(fit: Fit) -> str:
    r"""Say how far one speaker is from the others at a seat.

    Examples
    --------
    >>> fit_words(Fit("centre", ("left", "right"), "sofa", -1.2, 0.3, 0.5)).replace("\xa0", " ")
    'At the sofa the centre is 1.2 dB quieter than left and right; they reach 0.5 octaves deeper.'
    """
    others = listed(fit.others)
    told = []
    if abs(fit.louder_db) >= LEAST_LOUDER_DB:
        way = "louder" if fit.louder_db > 0 else "quieter"
        told.append(f"is {quantity(abs(fit.louder_db), 'dB', 1)} {way} than {others}")
    if fit.timbre_db >= LEAST_TIMBRE_DB:
        told.append(
            f"{'' if told else f'differs from {others} '}in timbre by {quantity(fit.timbre_db, 'dB', 1)}"
        )
    said = " and differs ".join(told) if told else f"is as loud as {others} and sounds like them"
    deeper = ""
    if abs(fit.bass_octaves) >= LEAST_OCTAVES:
        way = "deeper" if fit.bass_octaves > 0 else "less deep"
        deeper = f"; they reach {quantity(abs(fit.bass_octaves), 'octaves', 1)} {way}"
    return f"At the {fit.seat} the {fit.placement} {said}{deeper}."
