"""Candidates rendered for two ears at seats, as loud as each other."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import count, product

import numpy as np
from numpy.typing import NDArray

from forehear.design import Design
from forehear.ground.arrays import FloatArray, locked
from forehear.ground.errors import DataError, DesignError
from forehear.ground.work import Progress, all_cores, side_by_side, unseen
from forehear.listen.clip import Clip
from forehear.listen.convolving import Blocks, prepared
from forehear.listen.head import Head, SphereHead
from forehear.listen.loudness import RATE_HZ, loudness_lufs, true_peak
from forehear.listen.stage import Stage
from forehear.spine.impulse import LENGTH_S
from forehear.spine.origin import estimated_in, solver_of
from forehear.spine.run import SolverChoice, one_solver
from forehear.spine.through import prepare_receiver

CAUTION = "Turn the volume down before the first sound and up only as far as is pleasant; loud headphones harm hearing."
PROGRAMME_LUFS = -26.0  # of the loudest seat: quiet enough to begin with
HIGHEST_DBFS = -1.0
MARGIN_DB = 0.1  # other filters than ours find a true peak a little higher
FORMAT = "forehear-sound/1"
LEFT_OUT = (
    "headphones are taken as flat, and the head stands still",
    "distortion and the limits of excursion: any level sounds as clean as another",
)


class Matching(StrEnum):
    """What is made equally loud."""

    CANDIDATES = "candidates at one seat alike, seats as they are"
    EVERYTHING = "candidates and seats all alike"
    NOTHING = "levels as they are"


@dataclass(frozen=True, eq=False)
class Settings:
    """How candidates are rendered."""

    head: Head = field(default_factory=SphereHead)
    matching: Matching = Matching.CANDIDATES


@dataclass(frozen=True)
class Level:
    """How loud a rendered sound is, and what was done to it."""

    loudness_lufs: float  # in the middle of the head without it, after all gains
    matched_by_db: float  # for this candidate at this seat
    common_db: float  # for everything together: full scale per pascal, where full scale of the clip is 1 V
    true_peak_dbfs: float  # of both ears


@dataclass(frozen=True, eq=False)
class Rendered:
    """What two ears hear of one candidate at one seat."""

    candidate: str
    seat: str
    sound: NDArray[np.float32]  # [ear, sample], left first
    level: Level
    modelled: tuple[str, ...]
    left_out: tuple[str, ...]
    told: Mapping[str, str]  # settings by name
    rate_hz: int = RATE_HZ

    def __post_init__(self) -> None:
        locked(self, "sound", (2, -1), "ears x samples")


@dataclass(frozen=True, eq=False)
class _Played:
    """A clip through one candidate at one seat, before its level is set."""

    stage: Stage
    seat: str
    ears_pa: NDArray[np.float32]  # [ear, sample]
    middle_pa: NDArray[np.float32]  # [1, sample]
    loudness_lu: float  # re 1 Pa
    peak_pa: float


def render(
    designs: Sequence[Design],
    seats: Sequence[str],
    clip: Clip,
    settings: Settings | None = None,
    progress: Progress = unseen,
) -> tuple[Rendered, ...]:
    """Render a clip through candidates for one brief, at seats.

    Parameters
    ----------
    designs
        Candidates, all for one brief.
    seats
        Names of seats.
    clip
        What is played.
    settings
        Head and matching of levels.
    progress
        Told how far it is; may stop it by raising.

    Returns
    -------
    tuple
        One sound a candidate and seat, all seats of the first candidate first; all of one length, none above -1 dBFS.

    Raises
    ------
    DesignError, DataError
        When a network shorts the amplifier, candidates follow different briefs, or a seat is unknown.
    """
    chosen = settings or Settings()
    _one_brief(designs)
    progress(0.0, "the room")
    stages = stages_of(designs)
    for stage, seat in product(stages, seats):
        stage.ear(seat)  # refuses what is unknown before any work
    played = _all_played(stages, seats, clip, chosen.head, progress)
    matched_db, common_db = gains(
        np.array([each.loudness_lu for each in played]).reshape(len(designs), len(seats)),
        np.array([each.peak_pa for each in played]).reshape(len(designs), len(seats)),
        chosen.matching,
    )
    by_pair = zip(played, matched_db.ravel().tolist(), strict=True)
    rendered = side_by_side(lambda each: _finished(*each, common_db, clip, chosen), list(by_pair))
    progress(1.0, "rendered")
    return tuple(rendered)


def make_ready(settings: Settings | None = None) -> None:
    """Work out what sounds of any candidate need: the first one comes sooner."""
    prepare_receiver((settings or Settings()).head)


def stages_of(designs: Sequence[Design]) -> list[Stage]:
    """Set candidates up, all as the same solver has them: else they would differ by their solvers, too.

    Raises
    ------
    DesignError
        When a network shorts the amplifier.
    """
    instant = one_solver(designs, SolverChoice.AUTO) is SolverChoice.INSTANT
    return [Stage.of(design, instant=instant) for design in designs]


def gains(loudness_lu: FloatArray, peak_pa: FloatArray, matching: Matching) -> tuple[FloatArray, float]:
    """Find the gain of every sound against its true level, and the common gain of all.

    Parameters
    ----------
    loudness_lu, peak_pa : array
        Of every sound, [candidate, seat]. [dB re 1 Pa], [Pa]
    matching : Matching
        What is made alike.

    Returns
    -------
    matched_db, common_db
        [candidate, seat] and one for all: the loudest is at `PROGRAMME_LUFS`, or lower where a peak would pass
        `HIGHEST_DBFS`. [dB]

    Source
    ------
    itu-r-bs-1770: the loudness; how it is matched is our own.

    Examples
    --------
    >>> level, peak = np.array([[-30.0, -36.0], [-32.0, -36.0]]), np.full((2, 2), 0.1)
    >>> matched, common = gains(level, peak, Matching.CANDIDATES)
    >>> print(matched, round(common, 1))
    [[-1.  0.]
     [ 1.  0.]] 5.0
    """
    matched = np.zeros_like(loudness_lu)
    if matching is Matching.CANDIDATES:
        matched = loudness_lu.mean(axis=0) - loudness_lu
    elif matching is Matching.EVERYTHING:
        matched = loudness_lu.mean() - loudness_lu
    loudest = float((loudness_lu + matched).max())
    highest = float((20 * np.log10(peak_pa) + matched).max())
    return matched, min(PROGRAMME_LUFS - loudest, HIGHEST_DBFS - MARGIN_DB - highest)


def _one_brief(designs: Sequence[Design]) -> None:
    briefs = sorted({str(design.brief.path.resolve()) for design in designs})
    if len(briefs) > 1:
        raise DesignError(
            f"these designs follow {len(briefs)} different briefs: {', '.join(briefs)}",
            where=", ".join(str(design.path) for design in designs),
            cure="listen to designs that name the same brief",
        )


def _all_played(
    stages: Sequence[Stage], seats: Sequence[str], clip: Clip, head: Head, progress: Progress
) -> list[_Played]:
    """Play the clip on every stage at every seat; one stage plays while another is still prepared."""
    pairs = list(product(range(len(stages)), seats))
    done = count(1)
    with all_cores() as cores:
        blocks = cores.submit(prepared, clip.sound, round(LENGTH_S * RATE_HZ))
        receiver = cores.submit(prepare_receiver, head)
        ready = [cores.submit(stage.prepare, tuple(seats)) for stage in stages]

        def play(stage: int, seat: str) -> _Played:
            receiver.result()
            ready[stage].result()
            played = _play(stages[stage], seat, blocks.result(), head)
            share = 0.3 + 0.6 * next(done) / len(pairs)
            progress(share, f"{played.stage.setting.design.title}, {seat}")
            return played

        return [each.result() for each in [cores.submit(play, *pair) for pair in pairs]]


def _play(stage: Stage, seat: str, blocks: Blocks, head: Head) -> _Played:
    share = stage.plays(len(blocks.spectra))
    heard = stage.heard(seat, head)
    responses = np.array([np.vstack([each.ears_pa_v, each.middle_pa_v]) for each in heard])
    by_channel = np.einsum("sc,sen->ecn", share, responses)
    left, right, middle = (blocks.through(each) for each in by_channel)
    ears, middle = np.array([left, right]), middle[np.newaxis]
    return _Played(stage, seat, ears, middle, _loudness_lu(middle), true_peak(ears))


def _loudness_lu(sound_pa: NDArray[np.float32]) -> float:
    """Loudness re 1 Pa; the gates act as they will where it is played."""
    energy = float(np.mean(np.square(sound_pa, dtype=float)))
    if energy == 0.0:
        raise DataError(
            "nothing is left of the clip: its two channels cancel each other where they play together",
            cure="choose a clip of one channel, or turn the polarity of one",
        )
    plain = 10 * np.log10(energy)
    gain = np.float32(10 ** ((PROGRAMME_LUFS - plain) / 20))
    return float(loudness_lufs(sound_pa * gain) - (PROGRAMME_LUFS - plain))


def _finished(
    played: _Played, matched_db: float, common_db: float, clip: Clip, settings: Settings
) -> Rendered:
    design = played.stage.setting.design
    gain = np.float32(10 ** ((matched_db + common_db) / 20))
    level = Level(
        loudness_lufs=loudness_lufs(played.middle_pa * gain),
        matched_by_db=matched_db,
        common_db=common_db,
        true_peak_dbfs=20 * float(np.log10(played.peak_pa * gain)),
    )
    return Rendered(
        candidate=design.title,
        seat=played.seat,
        sound=played.ears_pa * gain,
        level=level,
        modelled=_modelled(settings.head),
        left_out=(*LEFT_OUT, *estimated_in(design, played.stage.setting.speaker.refined), *clip.notes),
        told=_told(played, level, clip, settings),
    )


def _modelled(head: Head) -> tuple[str, ...]:
    return (
        "direct sound, first reflections and later ones one by one, each through the head from where it comes",
        "what is known only on average as noise that dies away as it should, as a diffuse field brings it to two ears; "
        "with the rest it is as loud in every band of the ear as the page says",
        "levels and C50 are told without the head, as a small microphone in its middle would measure them",
        f"head: {head.origin}",
    )


def _told(played: _Played, level: Level, clip: Clip, settings: Settings) -> dict[str, str]:
    stage, design = played.stage, played.stage.setting.design
    x, y, _ = stage.looks_at_m(played.seat)
    return {
        "format": FORMAT,
        "candidate": design.title,
        "design": design.path.name,
        "design hash": design.design_hash,
        "solver": solver_of(stage.setting.speaker.refined),
        "seat": played.seat,
        "speakers": ", ".join(reverberation.pose.placement for reverberation in stage.standing),
        "clip": f"{clip.name}: {clip.origin}",
        "head": settings.head.origin,
        "looks at": f"x {x:.2f} m, y {y:.2f} m, level: the middle between the speakers",
        "levels": settings.matching.value,
        "loudness": f"{level.loudness_lufs:.2f} LUFS without the head",
        "matched by": f"{level.matched_by_db:+.2f} dB",
        "common gain": f"{level.common_db:+.2f} dB re full scale per pascal, full scale of the clip being 1 V",
        "true peak": f"{level.true_peak_dbfs:.2f} dBFS",
    }
