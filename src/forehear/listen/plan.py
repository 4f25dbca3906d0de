"""What is compared by whom, and the hidden plan of it: which sound stands behind which letter."""

import random
from dataclasses import dataclass
from enum import StrEnum
from string import ascii_uppercase

from forehear.ground.errors import DataError
from forehear.listen.orders import balanced_orders, pair_orders, unknown_sequence

MOST_CANDIDATES, MOST_LISTENERS, MOST_TRIALS, MOST_ATTRIBUTES = 12, 60, 200, 12
MOST_PROGRAMMES = 24  # clips times seats
LONGEST_NAME = 80
SCALES = ((1, 10), (0, 100))
ALIKE_DB = 0.2  # levels this close are called matched: common practice for blind tests, no source


class Kind(StrEnum):
    """How candidates are compared."""

    ABX = "abx"  # is X the same as A or as B?
    RATING = "rating"  # each sound on a scale, once an attribute
    PAIRS = "pairs"  # which of two is preferred


class Known(StrEnum):
    """How it is known how loud each candidate is."""

    NOT = ""
    TYPED = "typed"  # by who leads the session
    RECORDED = "recorded"  # the same noise from each speaker at the seat
    RENDERED = "rendered"  # it is worked out with the sounds themselves


class Part(StrEnum):
    """What a sound is in a session."""

    ITSELF = "itself"
    REPEAT = "repeat"  # the same sound again, to see whether a listener says the same again
    ANCHOR = "anchor"  # made worse on purpose, to see whether a listener hears that


@dataclass(frozen=True)
class Stimulus:
    """One sound behind a letter."""

    candidate: int
    part: Part = Part.ITSELF


@dataclass(frozen=True)
class Trial:
    """What a listener compares at a time; the letters A, B, C ... stand for `stimuli`, in ABX the third is X."""

    programme: int
    stimuli: tuple[Stimulus, ...]


@dataclass(frozen=True)
class Programme:
    """What is played where: a clip, heard at a seat."""

    clip: str
    seat: str


@dataclass(frozen=True)
class Origin:
    """What sounds are made from, so that a session that goes on later plays the very same."""

    file: str
    digest: str


@dataclass(frozen=True)
class Setup:
    """What a session compares, fixed before the first answer."""

    kind: Kind
    candidates: tuple[str, ...]
    listeners: tuple[str, ...]
    programmes: tuple[Programme, ...]
    trials: int = (
        1  # of each listener: ABX trials, or rounds of all pairs; a rating session has one a programme
    )
    attributes: tuple[str, ...] = ()
    scale: tuple[int, int] = (0, 100)
    repeat: bool = False
    anchor: bool = False
    real: bool = False  # speakers that stand in the room; a leader connects them
    levels_db: tuple[float, ...] | None = None  # of each candidate at the seat; None where nobody measured
    levels_known: Known = Known.NOT
    origins: tuple[Origin, ...] = ()  # of each candidate; none of real speakers
    clips: tuple[Origin, ...] = ()  # of the user's own sound files that are played

    def __post_init__(self) -> None:
        for complaint in (*_wrong_kind(self), *_wrong_names(self), *_wrong_numbers(self)):
            raise DataError(f"the session cannot begin: {complaint[0]}", cure=complaint[1])

    @property
    def levels_apart_db(self) -> float | None:
        """Level between the loudest and the softest candidate [dB]; None where nobody measured it."""
        return None if self.levels_db is None else max(self.levels_db) - min(self.levels_db)

    @property
    def levels_matched(self) -> bool:
        """Whether candidates are known to be equally loud."""
        apart_db = self.levels_apart_db
        return apart_db is not None and apart_db <= ALIKE_DB + 1e-9


Plan = tuple[tuple[Trial, ...], ...]  # [listener][trial]


def numbered(setup: Setup, programme: int) -> str:
    """Say by numbers which clip and which seat it is: a name might tell who plays. Nothing where there is only one.

    Examples
    --------
    >>> played = (Programme("speech", "sofa"), Programme("tones", "sofa"))
    >>> numbered(Setup(Kind.ABX, ("one", "other"), ("me",), played), 1)
    'clip 2 of 2'
    """
    now, said = setup.programmes[programme], []
    for what, own, every in (
        ("clip", now.clip, [one.clip for one in setup.programmes]),
        ("seat", now.seat, [one.seat for one in setup.programmes]),
    ):
        names = list(dict.fromkeys(every))
        said += [f"{what} {names.index(own) + 1} of {len(names)}"] if len(names) > 1 else []
    return ", ".join(said)


def labels_of(setup: Setup, trial: Trial) -> tuple[str, ...]:
    """Return the letters of a trial's sounds."""
    return ("A", "B", "X") if setup.kind is Kind.ABX else tuple(ascii_uppercase[: len(trial.stimuli)])


def make_plan(setup: Setup, seed: int) -> Plan:
    """Return the plan that a seed stands for: the same seed gives the same plan."""
    chance = random.Random(seed)
    makers = {Kind.ABX: _abx, Kind.RATING: _rating, Kind.PAIRS: _pairs}
    return makers[setup.kind](setup, chance)


def _abx(setup: Setup, chance: random.Random) -> Plan:
    plan = []
    for _ in setup.listeners:
        known = [Stimulus(candidate) for candidate in chance.sample(range(2), 2)]
        coins = unknown_sequence(setup.trials, chance)
        plan.append(
            tuple(
                Trial(number % len(setup.programmes), (known[0], known[1], known[coin]))
                for number, coin in enumerate(coins)
            )
        )
    return tuple(plan)


def _rating(setup: Setup, chance: random.Random) -> Plan:
    count = len(setup.candidates)
    programmes, plan = len(setup.programmes), []
    worse = chance.randrange(count)  # the anchor is made of one candidate for everybody
    orders = balanced_orders(count + setup.repeat + setup.anchor, len(setup.listeners) * programmes, chance)
    for listener in range(len(setup.listeners)):
        trials = []
        for programme in range(programmes):
            sounds = [Stimulus(candidate) for candidate in range(count)]
            sounds += [Stimulus(chance.randrange(count), Part.REPEAT)] if setup.repeat else []
            sounds += [Stimulus(worse, Part.ANCHOR)] if setup.anchor else []
            order = orders[listener * programmes + programme]
            trials.append(Trial(programme, tuple(sounds[place] for place in order)))
        plan.append(tuple(trials))
    return tuple(plan)


def _pairs(setup: Setup, chance: random.Random) -> Plan:
    heard = pair_orders(len(setup.candidates), setup.trials, len(setup.listeners), chance)
    return tuple(
        tuple(
            Trial(number % len(setup.programmes), (Stimulus(one), Stimulus(other)))
            for number, (one, other) in enumerate(own)
        )
        for own in heard
    )


Complaints = list[tuple[str, str]]  # what, cure


def _wrong_names(setup: Setup) -> Complaints:
    found: Complaints = []
    for what, names, most in (
        ("listener", setup.listeners, MOST_LISTENERS),
        ("attribute", setup.attributes, MOST_ATTRIBUTES),
        ("candidate", setup.candidates, MOST_CANDIDATES),
    ):
        found += [(f"it has {len(names)} {what}s", f"name at most {most}")] if len(names) > most else []
        if any(not name.strip() or len(name) > LONGEST_NAME for name in names):
            found.append((f"a {what} has no name or a very long one", f"use 1 to {LONGEST_NAME} characters"))
        twice = next((name for name in names if names.count(name) > 1), None)
        found += [] if twice is None else [(f"the {what} {twice!r} is named twice", "tell them apart")]
    if not setup.listeners:
        found.append(("nobody listens", "name at least one listener"))
    return found


def _wrong_numbers(setup: Setup) -> Complaints:
    found: Complaints = []
    if not 1 <= setup.trials <= MOST_TRIALS:
        found.append((f"{setup.trials} trials", f"choose 1 to {MOST_TRIALS}"))
    if setup.scale not in SCALES:
        found.append((f"a scale of {setup.scale[0]} to {setup.scale[1]}", "choose 1 to 10 or 0 to 100"))
    if not setup.programmes:
        found.append(("nothing is played", "choose a clip and a seat"))
    if len(setup.programmes) > MOST_PROGRAMMES:
        many = f"{len(setup.programmes)} pairs of a clip and a seat"
        found.append((many, f"choose fewer clips or seats, {MOST_PROGRAMMES} pairs at most"))
    if setup.levels_db is not None and len(setup.levels_db) != len(setup.candidates):
        found.append(
            (f"{len(setup.levels_db)} levels of {len(setup.candidates)} candidates", "give one for each")
        )
    return found


def _wrong_kind(setup: Setup) -> Complaints:
    count, found = len(setup.candidates), []
    if setup.kind is Kind.ABX and count != 2:
        found.append((f"ABX with {count} candidates", "choose two"))
    if count < 2:
        found.append((f"{count} candidates", "choose at least two"))
    if setup.kind is Kind.RATING and not setup.attributes:
        found.append(("a rating session without attributes", "name what is rated, such as dialogue clarity"))
    if setup.kind is not Kind.RATING and (setup.repeat or setup.anchor or setup.attributes):
        found.append(("attributes, a repeat or an anchor outside a rating session", "leave them out"))
    if setup.real and setup.anchor:
        found.append(("a hidden anchor among real speakers", "leave it out: nobody can connect it"))
    return found


def every_sound(plan: Plan) -> frozenset[tuple[int, Stimulus]]:
    """Return every programme and sound that a plan needs; a repeat is the sound itself."""
    return frozenset(
        (trial.programme, _sounding(stimulus))
        for trials in plan
        for trial in trials
        for stimulus in trial.stimuli
    )


def _sounding(stimulus: Stimulus) -> Stimulus:
    return stimulus if stimulus.part is Part.ANCHOR else Stimulus(stimulus.candidate)
