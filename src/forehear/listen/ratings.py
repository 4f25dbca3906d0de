"""Analysis of ratings: which candidates are rated otherwise, and whether the listeners are to be believed."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtrit

from forehear.ground.arrays import FloatArray
from forehear.judge.words import counted, listed
from forehear.listen.cautions import cautions_of
from forehear.listen.findings import Analysis, Mark, Picture, Row, Table, Verdict, p_words
from forehear.listen.orders import pairs_of
from forehear.listen.plan import Kind, Part, Stimulus, labels_of
from forehear.listen.session import Session
from forehear.listen.statistics import corrected, rank_sums, signed_ranks

LIMIT = 0.05
FEWEST = 6  # listeners: below, even all agreeing on two candidates happens by chance more than 1 time in 20


@dataclass(frozen=True)
class Rated:
    """Everything that one listener said in one finished trial."""

    listener: int
    sounds: dict[Stimulus, dict[str, float]]  # by attribute


@dataclass(frozen=True)
class Judged:
    """What is known of one attribute."""

    attribute: str
    ratings: FloatArray  # [listener, candidate]
    p: float
    p_corrected: float  # for all attributes
    pairs: tuple[tuple[int, int, float], ...]  # better, worse, p corrected for all pairs

    @property
    def verdict(self) -> Verdict:
        """What may be concluded of it."""
        if self.p_corrected < LIMIT:
            return Verdict.DIFFERENT
        return Verdict.NOT_SHOWN if len(self.ratings) >= FEWEST else Verdict.TOO_FEW


def analyse_ratings(session: Session) -> Analysis:
    """Say which candidates are rated otherwise, attribute by attribute, and what the hidden sounds showed."""
    rated = list(finished_ratings(session))
    judged = _judged(session, rated)
    verdict = _overall([one.verdict for one in judged])
    checks = (*_repeat_words(session, rated), *_anchor_words(session, rated))
    names = session.setup.candidates
    return Analysis(
        session.name,
        Kind.RATING,
        verdict,
        _headline(verdict, judged, names),
        (*(_sentence(one, names) for one in judged), *checks) if rated else ("Nothing was answered.",),
        cautions_of(session),
        _picture(session, judged) if rated else None,
        _table(judged, names),
        {
            "candidates": list(names),
            "listeners": len({one.listener for one in rated}),
            "attributes": [
                {
                    "attribute": one.attribute,
                    "mean": [float(value) for value in one.ratings.mean(axis=0)] if rated else [],
                    "p": one.p,
                    "p_corrected": one.p_corrected,
                    "pairs": [
                        {"better": names[better], "worse": names[worse], "p_corrected": p}
                        for better, worse, p in one.pairs
                    ],
                }
                for one in judged
            ],
            "repeat": _repeat(rated) if session.setup.repeat else None,
            "anchor_recognised": _recognised(rated) if session.setup.anchor else None,
        },
    )


def finished_ratings(session: Session) -> Iterator[Rated]:
    """Yield the ratings of every finished trial, the newest press of each."""
    given: dict[tuple[int, int], dict[tuple[str, str], float]] = {}
    for answer in session.answers:
        if answer.value is not None:
            own = given.setdefault((answer.listener, answer.trial), {})
            own[answer.label, answer.attribute] = answer.value
    for listener, number in sorted(session.finished):
        trial, own = session.plan[listener][number], given[listener, number]
        labels = zip(labels_of(session.setup, trial), trial.stimuli, strict=True)
        sounds = {
            stimulus: {attribute: own[label, attribute] for attribute in session.setup.attributes}
            for label, stimulus in labels
        }
        yield Rated(listener, sounds)


def _judged(session: Session, rated: Sequence[Rated]) -> list[Judged]:
    attributes, count = session.setup.attributes, len(session.setup.candidates)
    tables = [_ratings(rated, attribute, count) for attribute in attributes]
    chances = [_unlike(table) for table in tables]
    told = zip(attributes, tables, chances, corrected(chances), strict=True)
    return [Judged(attribute, table, p, q, _pairs(table)) for attribute, table, p, q in told]


def _ratings(rated: Sequence[Rated], attribute: str, count: int) -> FloatArray:
    """Return each listener's mean rating of each candidate [listener, candidate]."""
    listeners = sorted({one.listener for one in rated})
    table = [
        [
            np.mean([one.sounds[Stimulus(candidate)][attribute] for one in rated if one.listener == listener])
            for candidate in range(count)
        ]
        for listener in listeners
    ]
    return np.array(table, dtype=np.float64).reshape(len(listeners), count)


def _unlike(table: FloatArray) -> float:
    """Chance of ratings so unlike if all candidates are alike."""
    if not table.size:
        return 1.0
    if table.shape[1] == 2:
        return signed_ranks((table[:, 0] - table[:, 1]).tolist()).p
    return rank_sums(table.tolist()).p


def _pairs(table: FloatArray) -> tuple[tuple[int, int, float], ...]:
    if not table.size:
        return ()
    pairs, mean = pairs_of(table.shape[1]), table.mean(axis=0)
    chances = corrected([signed_ranks((table[:, one] - table[:, other]).tolist()).p for one, other in pairs])
    return tuple(
        (one, other, p) if mean[one] >= mean[other] else (other, one, p)
        for (one, other), p in zip(pairs, chances, strict=True)
    )


def _overall(verdicts: Sequence[Verdict]) -> Verdict:
    return next(one for one in Verdict if one in verdicts)  # in the order of what may be said


def _headline(verdict: Verdict, judged: Sequence[Judged], names: tuple[str, ...]) -> str:
    if verdict is Verdict.DIFFERENT:
        heard = [one.attribute for one in judged if one.verdict is Verdict.DIFFERENT]
        return f"{listed(names)} are rated differently in {listed(heard)}."
    if verdict is Verdict.NOT_SHOWN:
        return f"No difference between {listed(names)} was shown."
    listeners = len(judged[0].ratings)
    return f"Not enough answers to tell {listed(names)} apart: {counted(listeners, 'listener')} rated them."


def _sentence(judged: Judged, names: tuple[str, ...]) -> str:
    start = f"{judged.attribute[:1].upper()}{judged.attribute[1:]}"
    by_chance = f"{p_words(judged.p_corrected)} after correction for all attributes"
    if judged.verdict is not Verdict.DIFFERENT:
        return f"{start}: {judged.verdict} ({by_chance})."
    sure = [f"{names[better]} above {names[worse]}" for better, worse, p in judged.pairs if p < LIMIT]
    which = f"surely {listed(sure)}" if sure else "which of them differ cannot be told with so few listeners"
    return f"{start}: rated differently ({by_chance}); {which}."


def _spread(one: Rated) -> float:
    """Mean difference between two candidates that one listener rated."""
    own = [values for stimulus, values in one.sounds.items() if stimulus.part is Part.ITSELF]
    apart = [
        abs(own[first][attribute] - own[second][attribute])
        for first, second in pairs_of(len(own))
        for attribute in own[0]
    ]
    return float(np.mean(apart))


def _repeat(rated: Sequence[Rated]) -> list[dict[str, float]]:
    """Return for each listener how far the repeat lay from the sound itself, and candidates from each other."""
    found: dict[int, list[tuple[float, float]]] = {}
    for one in rated:
        for again, values in one.sounds.items():
            if again.part is Part.REPEAT:
                itself = one.sounds[Stimulus(again.candidate)]
                apart = float(np.mean([abs(values[name] - itself[name]) for name in values]))
                found.setdefault(one.listener, []).append((apart, _spread(one)))
    return [
        {"listener": listener, "apart": float(apart), "candidates_apart": float(spread)}
        for listener, told in found.items()
        for apart, spread in [np.mean(told, axis=0)]
    ]


def _repeat_words(session: Session, rated: Sequence[Rated]) -> tuple[str, ...]:
    told = _repeat(rated)
    if not told:
        return ()
    apart, spread = (float(np.mean([one[key] for one in told])) for key in ("apart", "candidates_apart"))
    low, high = session.setup.scale
    unsure = [
        session.setup.listeners[int(one["listener"])]
        for one in told
        if not one["apart"] < one["candidates_apart"]
    ]
    points = f"{apart:.1f} of {high - low} points apart, different candidates {spread:.1f}"
    if apart < spread:
        words = f"The hidden repeat agreed: the same sound, heard twice, was rated {points}."
    else:
        words = f"The hidden repeat did not agree: the same sound, heard twice, was rated {points}."
    more = f" {listed(unsure)} rated it as far apart as different candidates." if unsure else ""
    return (words + more,)


def _recognised(rated: Sequence[Rated]) -> list[dict[str, int | bool]]:
    """Return for each listener whether the anchor was rated below everything else, over all attributes."""
    found: dict[int, list[bool]] = {}
    for one in rated:
        means = {sound: float(np.mean(list(values.values()))) for sound, values in one.sounds.items()}
        anchors = [mean for sound, mean in means.items() if sound.part is Part.ANCHOR]
        rest = [mean for sound, mean in means.items() if sound.part is not Part.ANCHOR]
        if anchors:
            found.setdefault(one.listener, []).append(max(anchors) < min(rest))
    return [{"listener": listener, "recognised": all(told)} for listener, told in found.items()]


def _anchor_words(session: Session, rated: Sequence[Rated]) -> tuple[str, ...]:
    told = _recognised(rated)
    if not told:
        return ()
    missed = [session.setup.listeners[one["listener"]] for one in told if not one["recognised"]]
    known = len(told) - len(missed)
    words = f"The hidden anchor was recognised by {known} of {counted(len(told), 'listener')}"
    if missed:
        return (f"{words}; {listed(missed)} did not rate it lowest, so their answers say little.",)
    return (f"{words}.",)


def _picture(session: Session, judged: Sequence[Judged]) -> Picture:
    names = session.setup.candidates
    rows = []
    for one in judged:
        mean, half = one.ratings.mean(axis=0), _half_width(one.ratings)
        marks = [
            Mark(
                place,
                value,
                f"{value:.1f}",
                *((None, None) if half is None else (value - half, value + half)),
            )
            for place, value in enumerate(map(float, mean))
        ]
        rows.append(Row(one.attribute, tuple(marks)))
    note = "Bars: where the mean lies, 95 times of 100, each listener's own use of the scale taken out."
    return Picture("Mean ratings", "", tuple(rows), tuple(enumerate(names)), note)


def _half_width(table: FloatArray) -> float | None:
    """Half the width of the interval of a mean, from what is left when candidates and listeners are taken out.

    Its own derivation: the residual of a table with two margins has (n - 1)(k - 1) degrees of freedom, and a mean of n
    of them an error of their standard deviation over the root of n.
    """
    listeners, count = table.shape
    if listeners < 2:
        return None
    rest = table - table.mean(axis=0) - table.mean(axis=1, keepdims=True) + table.mean()
    freedom = (listeners - 1) * (count - 1)
    error = math.sqrt(float((rest**2).sum()) / freedom / listeners)
    return float(stdtrit(freedom, 0.975)) * error


def _table(judged: Sequence[Judged], names: tuple[str, ...]) -> Table:
    rows = [
        (one.attribute, *(f"{value:.1f}" for value in one.ratings.mean(axis=0)), p_words(one.p_corrected))
        for one in judged
        if one.ratings.size
    ]
    return Table(("attribute", *names, "by chance"), tuple(rows))
