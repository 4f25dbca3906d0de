"""A session as it goes: who has answered what. A press gives a new session; nothing is changed in place."""

import secrets
from dataclasses import dataclass, replace

from forehear.ground.errors import DataError
from forehear.listen.plan import Kind, Plan, Setup, Trial, labels_of, make_plan

SEED_BITS = 128


@dataclass(frozen=True)
class Answer:
    """One press: in ABX and pairs the letter chosen; in a rating session also what was rated, and the value."""

    listener: int
    trial: int
    label: str
    attribute: str = ""
    value: float | None = None


@dataclass(frozen=True)
class Session:
    """Setup, hidden plan, and every press so far, the oldest first."""

    name: str
    begun: str  # date
    setup: Setup
    seed: int
    plan: Plan
    answers: tuple[Answer, ...] = ()
    finished: frozenset[tuple[int, int]] = frozenset()  # (listener, trial) that take no more answers
    closed: bool = False

    def next_trial(self, listener: int) -> int | None:
        """Return the trial that a listener has before them; None when all are done or the session is closed."""
        if self.closed:
            return None
        return next(
            (trial for trial in range(len(self.plan[listener])) if (listener, trial) not in self.finished),
            None,
        )

    def trial(self, listener: int, number: int) -> Trial:
        """Return one trial of a listener."""
        if not 0 <= listener < len(self.plan) or not 0 <= number < len(self.plan[listener]):
            raise DataError(
                f"there is no trial {number + 1} of listener {listener + 1}", cure="load the page again"
            )
        return self.plan[listener][number]

    def given(self, listener: int, trial: int) -> dict[tuple[str, str], Answer]:
        """Return the newest answers of a trial by letter and attribute."""
        own = (answer for answer in self.answers if (answer.listener, answer.trial) == (listener, trial))
        return {(answer.label, answer.attribute): answer for answer in own}

    @property
    def planned(self) -> int:
        """How many trials were fixed before, of all listeners."""
        return sum(len(trials) for trials in self.plan)

    @property
    def stopped_early(self) -> bool:
        """Whether it ended before everything was answered."""
        return self.closed and len(self.finished) < self.planned


def new_seed() -> int:
    """Draw what a plan comes from."""
    return secrets.randbits(SEED_BITS)


def begin(setup: Setup, name: str, begun: str, seed: int | None = None) -> Session:
    """Begin a session with a plan that nobody knows."""
    seed = new_seed() if seed is None else seed
    return Session(name, begun, setup, seed, make_plan(setup, seed))


def with_answer(session: Session, answer: Answer) -> Session:
    """Return the session after a press.

    Raises
    ------
    DataError
        When the session is closed, it is not the turn of this trial, or there is no such answer. The very same answer
        again is none: a page that did not hear the reply may ask twice.
    """
    trial = session.trial(answer.listener, answer.trial)
    _check_answer(session.setup, trial, answer)
    before = session.given(answer.listener, answer.trial).get((answer.label, answer.attribute))
    if before == answer:
        return session
    _check_turn(session, answer.listener, answer.trial)
    answered = replace(session, answers=(*session.answers, answer))
    if session.setup.kind is Kind.RATING:
        return answered
    return replace(answered, finished=session.finished | {(answer.listener, answer.trial)})


def with_finished(session: Session, listener: int, trial: int) -> Session:
    """Return the session after a listener has gone on from a rating."""
    if (listener, trial) in session.finished:
        return session
    if session.setup.kind is not Kind.RATING:
        raise DataError("the answer itself goes on", cure="answer it")
    _check_turn(session, listener, trial)
    missing = sorted(_wanted(session, listener, trial) - session.given(listener, trial).keys())
    if missing:
        label, attribute = missing[0]
        raise DataError(f"{label} has no answer yet for {attribute!r}", cure="answer it, then go on")
    return replace(session, finished=session.finished | {(listener, trial)})


def checked(session: Session) -> Session:
    """Return a session that was read from a file, if each of its answers could have been given.

    Raises
    ------
    DataError
        When one could not.
    """
    given: dict[tuple[int, int], set[tuple[str, str]]] = {}
    for answer in session.answers:
        _check_answer(session.setup, session.trial(answer.listener, answer.trial), answer)
        given.setdefault((answer.listener, answer.trial), set()).add((answer.label, answer.attribute))
    for place in session.finished:
        session.trial(*place)
        if _wanted(session, *place) - given.get(place, set()):
            raise DataError(
                f"trial {place[1] + 1} of listener {place[0] + 1} is finished without its answers"
            )
    for listener, trial in given.keys() | session.finished:
        if any((listener, before) not in session.finished for before in range(trial)):
            raise DataError(f"listener {listener + 1} has answers to trial {trial + 1} before its turn")
    if session.setup.kind is not Kind.RATING and (
        given.keys() != session.finished or len(session.answers) != len(given)
    ):
        raise DataError("answers and finished trials do not agree")
    return session


def _wanted(session: Session, listener: int, trial: int) -> set[tuple[str, str]]:
    """Return what a rating must hold before a listener goes on; of a choice nothing by name."""
    if session.setup.kind is not Kind.RATING:
        return set()
    labels = labels_of(session.setup, session.trial(listener, trial))
    return {(label, attribute) for label in labels for attribute in session.setup.attributes}


def close(session: Session) -> Session:
    """Return the session closed: no more answers, and what was hidden may be told."""
    return replace(session, closed=True)


def _check_turn(session: Session, listener: int, trial: int) -> None:
    if session.closed:
        raise DataError("the session is closed", cure="begin a new one")
    turn = session.next_trial(listener)
    if turn != trial:
        told = "all are answered" if turn is None else f"it is the turn of {turn + 1}"
        raise DataError(f"trial {trial + 1} takes no answer now; {told}", cure="load the page again")


def _check_answer(setup: Setup, trial: Trial, answer: Answer) -> None:
    labels = labels_of(setup, trial)[:2] if setup.kind is Kind.ABX else labels_of(setup, trial)
    if answer.label not in labels:
        raise DataError(f"{answer.label[:20]!r} is no answer", cure=f"choose one of {', '.join(labels)}")
    if setup.kind is not Kind.RATING:
        if answer.attribute or answer.value is not None:
            raise DataError("a choice carries no rating", cure="load the page again")
        return
    low, high = setup.scale
    if answer.attribute not in setup.attributes:
        raise DataError(f"{answer.attribute[:40]!r} is not rated here", cure="load the page again")
    if answer.value is None or not low <= answer.value <= high:
        raise DataError(f"a rating of {answer.value}", cure=f"choose {low} to {high}")
