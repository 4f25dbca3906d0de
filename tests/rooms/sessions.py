"""Sessions for tests: invented candidates, and listeners who answer by a rule."""

from collections.abc import Callable

from forehear.listen.plan import Kind, Origin, Part, Programme, Setup, Stimulus, labels_of
from forehear.listen.session import Answer, Session, with_answer, with_finished

PLAYED = (Programme("speech", "sofa middle"),)
NAMES = ("Candelabra", "Zeppelin", "Quincunx", "Marzipan")
Rule = Callable[[int, Stimulus, str], float]  # listener, sound, attribute: the rating


def abx(trials: int = 16, listeners: tuple[str, ...] = ("first",)) -> Setup:
    """Two candidates, each listener so many trials."""
    origins = tuple(Origin(f"{name.lower()}.yaml", "0" * 8) for name in NAMES[:2])
    return Setup(Kind.ABX, NAMES[:2], listeners, PLAYED, trials, origins=origins, levels_db=(70.0, 70.05))


def rating(count: int = 3, listeners: int = 6, *, repeat: bool = True, anchor: bool = True) -> Setup:
    """Candidates rated on two attributes."""
    return Setup(
        Kind.RATING,
        NAMES[:count],
        tuple(f"listener {number}" for number in range(listeners)),
        PLAYED,
        attributes=("dialogue clarity", "evenness"),
        repeat=repeat,
        anchor=anchor,
        levels_db=(70.0,) * count,
    )


def pairs(count: int = 3, listeners: int = 4, rounds: int = 2) -> Setup:
    """Every pair, so many rounds."""
    names = tuple(f"listener {number}" for number in range(listeners))
    return Setup(Kind.PAIRS, NAMES[:count], names, PLAYED, rounds, levels_db=(70.0,) * count)


def press_abx(session: Session, listener: int, *, right: bool) -> Session:
    """Answer the next ABX trial."""
    number = session.next_trial(listener)
    assert number is not None
    stimuli = session.plan[listener][number].stimuli
    truth = "A" if stimuli[2] == stimuli[0] else "B"
    other = {"A": "B", "B": "A"}[truth]
    return with_answer(session, Answer(listener, number, truth if right else other))


def press_rating(session: Session, listener: int, rule: Rule) -> Session:
    """Rate everything of the next trial, and go on."""
    number = session.next_trial(listener)
    assert number is not None
    trial = session.plan[listener][number]
    for label, stimulus in zip(labels_of(session.setup, trial), trial.stimuli, strict=True):
        for attribute in session.setup.attributes:
            value = rule(listener, stimulus, attribute)
            session = with_answer(session, Answer(listener, number, label, attribute, value))
    return with_finished(session, listener, number)


def press_pair(session: Session, listener: int, better: Callable[[int, int], bool]) -> Session:
    """Prefer one of the next pair: the first where `better(first, second)`."""
    number = session.next_trial(listener)
    assert number is not None
    one, other = session.plan[listener][number].stimuli
    label = "A" if better(one.candidate, other.candidate) else "B"
    return with_answer(session, Answer(listener, number, label))


def by_candidate(worth: tuple[float, ...], anchor: float) -> Rule:
    """Rate by the candidate alone; every listener has a place of their own on the scale."""

    def rule(listener: int, sound: Stimulus, _attribute: str) -> float:
        return listener + (anchor if sound.part is Part.ANCHOR else worth[sound.candidate])

    return rule
