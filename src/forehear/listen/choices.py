"""Analysis of choices: ABX, and which of two is preferred."""

import math

import numpy as np
from scipy.special import chdtrc

from forehear.judge.words import counted, listed
from forehear.listen.cautions import cautions_of
from forehear.listen.findings import Analysis, Mark, Picture, Row, Table, Verdict, chance_words, p_words
from forehear.listen.orders import pairs_of
from forehear.listen.plan import Kind
from forehear.listen.session import Session
from forehear.listen.statistics import (
    Strengths,
    chance_of_at_least,
    corrected,
    interval_of_share,
    strengths,
    two_sided,
)

LIMIT = 0.05  # a smaller p is called a difference
HEARD_SHARE = 0.75  # right answers of somebody who hears the difference every other time and guesses else
FOUND = 0.8  # so surely such a listener must be found before "no difference was shown" is said
FEWEST = 6  # equal choices below this happen by chance more than 1 time in 20, both ways counted


def analyse_abx(session: Session) -> Analysis:
    """Say whether X was told apart more often than by guessing."""
    right = [0] * len(session.setup.listeners)
    trials = [0] * len(session.setup.listeners)
    for answer in session.answers:
        stimuli = session.plan[answer.listener][answer.trial].stimuli
        trials[answer.listener] += 1
        right[answer.listener] += stimuli["AB".index(answer.label)] == stimuli[2]
    every, correct = sum(trials), sum(right)
    p = chance_of_at_least(correct, every)
    verdict = _abx_verdict(p, every)
    listened = [index for index, count in enumerate(trials) if count]
    own = corrected([chance_of_at_least(right[index], trials[index]) for index in listened])
    rows = [
        (session.setup.listeners[index], right[index], trials[index], own[rank])
        for rank, index in enumerate(listened)
    ]
    shown = [*rows, ("all together", correct, every, p)] if len(rows) > 1 else rows
    return Analysis(
        session.name,
        Kind.ABX,
        verdict,
        _abx_headline(session, verdict, correct, every),
        _abx_sentences(verdict, rows, correct, every),
        cautions_of(session),
        _abx_picture(shown) if every else None,
        _abx_table(shown),
        {
            "right": correct,
            "trials": every,
            "p": p,
            "interval": list(interval_of_share(correct, every)),
            "chance_of_finding": chance_of_finding(every),
            "listeners": [
                {"name": name, "right": count, "trials": of, "p_corrected": q} for name, count, of, q in rows
            ],
        },
    )


def least_right(trials: int) -> int | None:
    """Return how many right answers it takes to call it a difference; None where all would not be enough.

    Examples
    --------
    >>> least_right(16), least_right(4)
    (12, None)
    """
    found = (count for count in range(trials + 1) if chance_of_at_least(count, trials) < LIMIT)
    return next(found, None)


def chance_of_finding(trials: int) -> float:
    """Chance that somebody who hears the difference every other time is found in so many trials."""
    needed = least_right(trials)
    return 0.0 if needed is None else chance_of_at_least(needed, trials, HEARD_SHARE)


def _abx_verdict(p: float, trials: int) -> Verdict:
    if trials and p < LIMIT:
        return Verdict.DIFFERENT
    return Verdict.NOT_SHOWN if chance_of_finding(trials) >= FOUND else Verdict.TOO_FEW


def _abx_headline(session: Session, verdict: Verdict, right: int, trials: int) -> str:
    names = listed(session.setup.candidates)
    if not trials:
        return f"Nobody has compared {names}."
    if verdict is Verdict.DIFFERENT:
        return f"{names} were told apart: {right} of {trials} answers are right."
    if verdict is Verdict.NOT_SHOWN:
        return f"No difference between {names} was shown: {right} of {trials} answers are right."
    return f"Not enough answers to tell {names} apart or not: {right} of {trials} are right."


def _abx_sentences(
    verdict: Verdict, rows: list[tuple[str, int, int, float]], right: int, trials: int
) -> tuple[str, ...]:
    if not trials:
        return ("Nothing was answered.",)
    p = chance_of_at_least(right, trials)
    low, high = interval_of_share(right, trials)
    found = [
        f"By guessing alone, so many right answers or more happen {chance_words(p)} ({p_words(p)}).",
        f"The share of right answers lies between {100 * low:.0f} and {100 * high:.0f} % (95 times of 100); "
        "guessing gives half.",
    ]
    needed = least_right(trials)
    if needed is None:
        found.append(f"With {counted(trials, 'trial')} even all right would not have been enough.")
    elif verdict is not Verdict.DIFFERENT:
        found.append(
            f"{needed} right would have been called a difference; somebody who hears it every other time is found "
            f"{chance_words(chance_of_finding(trials))} with {trials} trials."
        )
    alone = [name for name, _, _, own in rows if own < LIMIT]
    if alone and len(rows) > 1:
        found.append(f"{listed(alone)} told them apart alone, even corrected for {len(rows)} listeners.")
    return tuple(found)


def _abx_picture(rows: list[tuple[str, int, int, float]]) -> Picture:
    drawn = []
    for name, right, trials, _ in rows:
        low, high = interval_of_share(right, trials)
        mark = Mark(0, 100 * right / trials, f"{right} of {trials}", 100 * low, 100 * high)
        drawn.append(Row(name, (mark,)))
    drawn.append(Row("guessing", (Mark(1, 50.0, "50 %"),)))
    note = "Bars: where the true share lies, 95 times of 100."
    key = ((0, "right answers"), (1, "what guessing gives"))
    return Picture("Right answers", " %", tuple(drawn), key, note, span=(0.0, 100.0))


def _abx_table(rows: list[tuple[str, int, int, float]]) -> Table:
    told = [(name, str(right), str(trials), p_words(p)) for name, right, trials, p in rows]
    return Table(("listener", "right", "trials", "by guessing"), tuple(told))


# --- pairs


def analyse_pairs(session: Session) -> Analysis:
    """Say which candidates are preferred to which."""
    names = session.setup.candidates
    wins = np.zeros((len(names), len(names)), dtype=int)
    for answer in session.answers:
        pair = session.plan[answer.listener][answer.trial].stimuli
        chosen = "AB".index(answer.label)
        wins[pair[chosen].candidate, pair[1 - chosen].candidate] += 1
    pairs = pairs_of(len(names))
    own = corrected([two_sided(int(wins[pair]), int(wins[pair] + wins[pair[::-1]])) for pair in pairs])
    found = strengths(wins.tolist())
    p = _all_alike(wins, found)
    enough = min(int(wins[pair] + wins[pair[::-1]]) for pair in pairs) >= FEWEST
    verdict = (
        Verdict.DIFFERENT if wins.sum() and p < LIMIT else Verdict.NOT_SHOWN if enough else Verdict.TOO_FEW
    )
    order = sorted(range(len(names)), key=lambda index: -found.share[index])
    return Analysis(
        session.name,
        Kind.PAIRS,
        verdict,
        _pairs_headline(verdict, [names[index] for index in order]),
        _pairs_sentences(names, wins, own, found, p),
        cautions_of(session),
        _pairs_picture(names, found, order) if wins.sum() else None,
        _pairs_table(names, wins, own),
        {
            "candidates": list(names),
            "wins": wins.tolist(),
            "strength": list(found.share),
            "p": p,
            "pairs": [
                {"pair": [names[one], names[other]], "p_corrected": q}
                for (one, other), q in zip(pairs, own, strict=True)
            ],
        },
    )


def _all_alike(wins: "np.ndarray[tuple[int, ...], np.dtype[np.int_]]", found: Strengths) -> float:
    """Chance of preferences at least so uneven if all are alike: exact for two, else by the likelihood ratio."""
    count = len(wins)
    if count == 2:
        return two_sided(int(wins[0, 1]), int(wins.sum()))
    twice = 0.0
    for one in range(count):
        for other in range(count):
            if wins[one, other]:
                twice += 2 * int(wins[one, other]) * math.log(2 * found.chance(one, other))
    return float(chdtrc(count - 1, max(twice, 0.0)))


def _pairs_headline(verdict: Verdict, names: list[str]) -> str:
    if verdict is Verdict.DIFFERENT:
        return f"Some are preferred to others; from the most to the least: {', '.join(names)}."
    if verdict is Verdict.NOT_SHOWN:
        return f"No preference among {listed(names)} was shown."
    return f"Not enough answers to tell which of {listed(names)} is preferred."


def _pairs_sentences(
    names: tuple[str, ...],
    wins: "np.ndarray[tuple[int, ...], np.dtype[np.int_]]",
    own: tuple[float, ...],
    found: Strengths,
    p: float,
) -> tuple[str, ...]:
    if not wins.sum():
        return ("Nothing was answered.",)
    told = [f"If all were alike, choices so uneven would happen {chance_words(p)} ({p_words(p)})."]
    for (one, other), q in zip(pairs_of(len(names)), own, strict=True):
        best, rest = (one, other) if wins[one, other] >= wins[other, one] else (other, one)
        of = int(wins[one, other] + wins[other, one])
        said = "" if q < LIMIT else ", which chance does easily"
        told.append(
            f"{names[best]} was preferred to {names[rest]} {int(wins[best, rest])} times of {of} "
            f"({p_words(q)} after correction){said}."
        )
    if not found.finite:
        told.append(
            "Somebody always won or always lost, so strengths have no finite value: half a win each way was added."
        )
    told.append("Answers of one listener are counted as if they were of several.")
    return tuple(told)


def _pairs_picture(names: tuple[str, ...], found: Strengths, order: list[int]) -> Picture:
    rows = []
    for index in order:
        value, error = found.log_strength[index], 1.96 * found.log_error[index]
        words = f"{100 * found.share[index]:.0f} %"
        rows.append(Row(names[index], (Mark(index, value, words, value - error, value + error),)))
    note = (
        "Logarithm of the strength less the mean of all; a step of 0.7 doubles the odds. Bars: about 95 times in 100. "
        "The number is the share of all strength."
    )
    return Picture("How strongly each is preferred", "", tuple(rows), tuple(enumerate(names)), note)


def _pairs_table(
    names: tuple[str, ...], wins: "np.ndarray[tuple[int, ...], np.dtype[np.int_]]", own: tuple[float, ...]
) -> Table:
    rows = tuple(
        (
            f"{names[one]} and {names[other]}",
            str(int(wins[one, other])),
            str(int(wins[other, one])),
            p_words(q),
        )
        for (one, other), q in zip(pairs_of(len(names)), own, strict=True)
    )
    return Table(("pair", "first preferred", "second preferred", "by chance"), rows)
