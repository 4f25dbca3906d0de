"""How many of thousands built are as good as drawn, which part spoils most, and what a truer one would buy."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.spine.situation import Situation
from forehear.spine.translate import constants_of, enclosure_of
from forehear.voice.builds import WayModel, drawn_shares, half_widths, same_draw
from forehear.voice.circuit import Circuit
from forehear.voice.evaluator import Evaluator
from forehear.voice.heard import Ear, ear_of, level, products
from forehear.voice.layout import Layout, evaluator_for
from forehear.voice.listening import seat_forms, way_rows
from forehear.voice.shop import tolerance_of

BUILDS = 5000
AT_ONCE = 250  # builds solved together: a few tens of megabytes
WITHIN_DB = 1.5
LEFT_OUT_DB = 10.0  # bins so far under the mean are not judged
CONFIDENT = 1.959963984540054  # standard deviations of a normal that hold 95 %
ALONE = 400  # builds with one thing off
FEWER = 1500  # builds with one part truer
BOUGHT = 3  # parts that are tried truer
TIGHTER = 0.5  # of the tolerance

Levels = Callable[[FloatArray, FloatArray], FloatArray]
"""From shares of values [build, part] and of constants [build, driver, constant] to levels [heard, seat, build]."""


@dataclass(frozen=True)
class Draw:
    """How builds are drawn."""

    builds: int = BUILDS
    within_db: float = WITHIN_DB
    normal: bool = False  # parts normal with a third of the tolerance, not even within it
    one_batch: bool = False  # drivers of one file are off alike
    seed: int = 1
    spoilers: bool = True  # whether to look for what spoils most


@dataclass(frozen=True)
class Spoiler:
    """One thing that is off, and what it does alone."""

    what: str
    off: float  # half width as a share
    moves_db: float  # rms over builds of the largest deviation, this alone being off
    tighter: float | None = None  # yield with half of the half width; None where it was not asked
    tighter_db: float | None = None  # within which 95 % stay then


@dataclass(frozen=True, eq=False)
class Yield:
    """What comes of many builds."""

    draw: Draw
    good: float  # share within the limit
    low: float  # ends of its 95 % interval
    high: float
    most_db: float  # within which 95 % of the builds stay
    deviation_db: (
        FloatArray  # [build] largest deviation from the nominal curve at any seat, mean level taken out
    )
    level_db: FloatArray  # [build] mean level less the nominal one, mean over seats
    spoilers: tuple[Spoiler, ...]  # the worst first


def yield_of(situation: Situation, layout: Layout, like: Evaluator, draw: Draw) -> Yield:
    """Build a design many times with parts and drivers a little off.

    Each build is held against the same design with nothing off, on the in-room ear-smoothed curves of its main seats.
    """
    found = _House(situation, layout, like)
    off = np.array([tolerance_of(part.component) for part in layout.parts])
    names = layout.names
    groups = found.groups if draw.one_batch else list(range(len(found.groups)))
    return yield_from(found.levels, off, found.driver_names, draw, names, groups)


def yield_from(
    levels: Levels,
    off: FloatArray,
    drivers: Sequence[str],
    draw: Draw,
    names: Sequence[str],
    groups: Sequence[int],
) -> Yield:
    """Draw builds, hear them, and find what spoils them.

    Parameters
    ----------
    levels
        What builds sound like.
    off
        Half width of each part's value, [part]. [-]
    drivers
        Their names.
    draw
        How many, how judged.
    names
        Of the parts.
    groups
        Drivers of one group are off alike.
    """
    random = np.random.default_rng(draw.seed)
    parts = _drawn(random, draw, len(off))
    constants = same_draw(drawn_shares(random, draw.builds, len(drivers)), list(groups))
    judge = _Against(levels, draw)
    width = half_widths()
    deviation, mean = judge.heard(parts * off, constants * width)
    good = float(np.mean(deviation <= draw.within_db))
    low, high = wilson_interval(good, draw.builds)
    everything = [*names, *drivers]
    spoilers = _alone(judge, parts * off, constants * width, everything, off) if draw.spoilers else []
    spoilers.sort(key=lambda one: -one.moves_db)
    for place in [place for place, one in enumerate(spoilers) if one.what in names][:BOUGHT]:
        number = list(names).index(spoilers[place].what)
        truer = _truer(judge, number, parts * off, constants * width, deviation)
        spoilers[place] = replace(spoilers[place], tighter=truer[0], tighter_db=truer[1])
    most_db = float(np.quantile(deviation, 0.95))
    return Yield(draw, good, low, high, most_db, deviation, mean, tuple(spoilers))


def wilson_interval(share: float, count: int) -> tuple[float, float]:
    r"""Interval that holds the true share of a binomial with 95 % confidence.

    .. math:: (p + z^2/2n \pm z \sqrt{p(1-p)/n + z^2/4n^2}) / (1 + z^2/n)

    Parameters
    ----------
    share
        Share found. [-]
    count
        Of how many. [-]

    Returns
    -------
    tuple
        Ends. [-]

    Source
    ------
    wilson-1927: the score interval.

    Examples
    --------
    >>> low, high = wilson_interval(0.9, 100)
    >>> print(f"{low:.3f} {high:.3f}")
    0.826 0.945
    """
    z2 = CONFIDENT**2 / count
    half = CONFIDENT * math.sqrt(share * (1 - share) / count + z2 / (4 * count))
    return (
        max((share + z2 / 2 - half) / (1 + z2), 0.0),
        min((share + z2 / 2 + half) / (1 + z2), 1.0),
    )


@dataclass(frozen=True, eq=False)
class _Against:
    """Builds held against the same with nothing off."""

    levels: Levels
    draw: Draw

    def heard(self, parts: FloatArray, constants: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Largest deviation of each build, and its mean level less the nominal one; [build] each."""
        nominal = self.levels(np.zeros_like(parts[:1]), np.zeros_like(constants[:1]))
        judged = nominal >= nominal.mean(axis=0) - LEFT_OUT_DB
        deviations, means = [], []
        for at in range(0, len(parts), AT_ONCE):
            chunk = slice(at, at + AT_ONCE)
            away = self.levels(parts[chunk], constants[chunk]) - nominal
            mean = (away * judged).sum(axis=0) / judged.sum(axis=0)
            about = np.where(judged, np.abs(away - mean), 0.0)
            deviations.append(about.max(axis=(0, 1)))
            means.append(mean.mean(axis=0))
        return np.concatenate(deviations), np.concatenate(means)


def _drawn(random: np.random.Generator, draw: Draw, parts: int) -> FloatArray:
    if draw.normal:
        return random.standard_normal((draw.builds, parts)) / 3
    return random.uniform(-1, 1, (draw.builds, parts))


def _alone(
    judge: _Against, parts: FloatArray, constants: FloatArray, names: Sequence[str], off: FloatArray
) -> list[Spoiler]:
    """Let each part and each driver be off alone."""
    count, found = parts.shape[1], []
    few, few_constants = parts[:ALONE], constants[:ALONE]
    for number, name in enumerate(names):
        only, only_constants = np.zeros_like(few), np.zeros_like(few_constants)
        if number < count:
            only[:, number] = few[:, number]
        else:
            only_constants[:, number - count] = few_constants[:, number - count]
        deviation, _ = judge.heard(only, only_constants)
        width = float(off[number]) if number < count else float(half_widths().max())
        found.append(Spoiler(name, width, float(np.sqrt(np.mean(deviation**2)))))
    return found


def _truer(
    judge: _Against, number: int, parts: FloatArray, constants: FloatArray, deviation_db: FloatArray
) -> tuple[float, float]:
    """Yield, and what 95 % stay within, when one part is half as far off: by how much the same builds change."""
    truer = parts[:FEWER].copy()
    truer[:, number] *= TIGHTER
    after, _ = judge.heard(truer, constants[:FEWER])
    before, within = deviation_db[:FEWER], judge.draw.within_db
    gained = np.mean(after <= within) - np.mean(before <= within)
    lower_db = np.quantile(before, 0.95) - np.quantile(after, 0.95)
    good = float(np.mean(deviation_db <= within) + gained)
    return min(good, 1.0), float(np.quantile(deviation_db, 0.95) - lower_db)


class _House:
    """One design whose parts and drivers can be off."""

    def __init__(self, situation: Situation, layout: Layout, like: Evaluator) -> None:
        speaker, design = situation.speaker, situation.design
        evaluator, self.values, self.losses_ohm = evaluator_for(layout, like)
        self.circuit: Circuit = evaluator.circuit
        self.rows = way_rows(speaker)
        self.models = [
            WayModel(
                tuple(constants_of(design.driver[name].part, speaker.grid) for name in way.drivers),
                enclosure_of(way.enclosure),
                branch.wiring,
                speaker.grid,
                speaker.air,
            )
            for way, branch in zip(design.ways, speaker.branches, strict=True)
        ]
        self.driver_names = speaker.drivers
        files = [design.driver[name].part.document.label for name in speaker.drivers]
        self.groups = [files.index(file) for file in files]
        seats = design.brief.goals.main_seats
        sounds = [sound for sound in situation.sounds if not seats or sound.ear.name in seats]
        self.ear: Ear = ear_of(seat_forms(sounds), situation.hearing.ear_in_room, situation.grid)

    def levels(self, parts: FloatArray, constants: FloatArray) -> FloatArray:
        """Levels of builds, [heard, seat, build]."""
        loads, moved = [], []
        for rows, model in zip(self.rows, self.models, strict=True):
            load, velocity = model.off(constants[:, rows])
            loads.append(np.broadcast_to(load, (len(parts), load.shape[-1])))
            moved.append(model.as_nominal_drive(velocity))
        values = self.values * (1 + parts)
        losses = np.broadcast_to(self.losses_ohm, values.shape)
        answer = self.circuit.solve(values, losses, np.stack(loads, axis=1))
        volts = np.empty((len(parts), len(self.driver_names), loads[0].shape[-1]), dtype=complex)
        for way, rows in enumerate(self.rows):
            volts[:, rows] = moved[way] * answer.volts[:, [way]]
        return level(self.ear.energy(products(volts)))
