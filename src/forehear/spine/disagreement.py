"""Where the instant model and a reference solution differ by more than can be left unsaid."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import BANDS_PER_OCTAVE, ORBIT_ANGLES_DEG
from forehear.ground.findings import Finding, Level
from forehear.ground.levels import level_db
from forehear.judge.words import listed, range_words
from forehear.spine.around import Surroundings, surroundings
from forehear.spine.situation import Setting

RE_AXIS_DB = -12.0  # a driver counts in directions where it is above that, re its own axis
RE_SUM_DB = -20.0  # and louder than that, re all drivers together
MOST_DB = 1.5  # rms over an octave; more is told
AHEAD_DEG = 60.0
LEAST_COUNTED = 0.1  # of an octave's directions and bands: of fewer nothing is said

AHEAD = np.tile(
    np.abs(ORBIT_ANGLES_DEG) <= AHEAD_DEG, 2
)  # [angle of the horizontal, then of the vertical orbit]


@dataclass(frozen=True)
class Disagreement:
    """How far the instant model is from the reference for one driver, in the octave where it is farthest."""

    driver: str
    from_hz: float
    to_hz: float
    rms_db: float
    ahead_db: float  # the same within 60 degrees of the axis; 0 where the driver does not count there


def disagreements(setting: Setting) -> tuple[Disagreement, ...]:
    """Compare both solvers on both orbits, driver by driver, up to where the instant one begins to take over.

    Levels are ear-smoothed. A driver counts where it is above -12 dB re its own axis and louder than -20 dB re all
    drivers together. Nothing where there is no reference solution.
    """
    speaker, grid = setting.speaker, setting.grid
    if speaker.refined is None:
        return ()
    exact_db, sum_db = _levels_db(surroundings(speaker), setting)
    instant_db, _ = _levels_db(surroundings(replace(speaker, refined=None)), setting)
    axis_db = exact_db[:, np.flatnonzero(ORBIT_ANGLES_DEG == 0.0)]
    counts = (exact_db > axis_db + RE_AXIS_DB) & (exact_db > sum_db + RE_SUM_DB)
    compared = slice(np.searchsorted(grid.frequency_hz, speaker.refined.reach.blend_from_hz, side="right"))
    found = []
    for name, apart_db, own in zip(speaker.drivers, instant_db - exact_db, counts, strict=True):
        worst = worst_octave(apart_db[:, compared], own[:, compared])
        if worst is not None:
            begin, rms_db = worst
            from_hz, to_hz = grid.edges_hz[[begin, begin + BANDS_PER_OCTAVE]].tolist()
            octave = slice(begin, begin + BANDS_PER_OCTAVE)
            ahead_db = _rms_db(apart_db[AHEAD, octave], own[AHEAD, octave])
            found.append(Disagreement(name, from_hz, to_hz, rms_db, ahead_db))
    return tuple(found)


def disagreement_findings(setting: Setting) -> list[Finding]:
    """Tell of the drivers for which the solvers lie far apart."""
    told = [one for one in disagreements(setting) if one.rms_db > MOST_DB]
    if not told:
        return []
    each = listed(
        [f"{one.driver} {one.rms_db:.1f} dB ({range_words(one.from_hz, one.to_hz)})" for one in told]
    )
    ahead_db = max(one.ahead_db for one in told)
    return [
        Finding(
            Level.CHECK,
            "solvers-disagree",
            f"All around, the instant solver is off the reference solver by {each}, rms over an octave; "
            f"within {AHEAD_DEG:.0f} degrees of the axis by {ahead_db:.1f} dB at most there.",
            setting.design.where("cabinet"),
            "edges, sides and back of the cabinet, which the instant solver only estimates",
            "refine again when the shape has changed, before small differences behind the cabinet count",
        )
    ]


def worst_octave(apart_db: FloatArray, counts: NDArray[np.bool_]) -> tuple[int, float] | None:
    """Return the first band of the octave in which levels [angle, band] lie farthest apart, and by how much (rms)."""
    best: tuple[int, float] | None = None
    for begin in range(max(apart_db.shape[1] - BANDS_PER_OCTAVE + 1, 0)):
        octave = slice(begin, begin + BANDS_PER_OCTAVE)
        inside = counts[:, octave]
        if inside.mean() < LEAST_COUNTED:
            continue
        rms_db = _rms_db(apart_db[:, octave], inside)
        if best is None or rms_db > best[1]:
            best = begin, rms_db
    return best


def _rms_db(apart_db: FloatArray, counts: NDArray[np.bool_]) -> float:
    return float(np.sqrt(np.mean(apart_db[counts] ** 2))) if counts.any() else 0.0


def _levels_db(sound: Surroundings, setting: Setting) -> tuple[FloatArray, FloatArray]:
    """Ear-smoothed levels on both orbits as driven: each driver [driver, angle, frequency], and all together."""
    volts, smooth = setting.network.voltage.volts_v[:, np.newaxis], setting.smoothing.smooth
    each = np.concatenate([sound.horizontal.pressure_pa_v, sound.vertical.pressure_pa_v], axis=1) * volts
    return level_db(smooth(np.abs(each) ** 2)), level_db(smooth(np.abs(each.sum(axis=0)) ** 2))
