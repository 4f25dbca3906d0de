"""The whole way: from one design to what every seat hears, why, and what would cure it."""

from collections.abc import Iterator
from dataclasses import replace
from importlib.metadata import version
from time import perf_counter

import numpy as np

from forehear.design import Design
from forehear.ground.axes import ORBIT_ANGLES_DEG
from forehear.ground.levels import level_db
from forehear.ground.work import Progress, part_of, unseen
from forehear.judge import preference_rating, spread_among_seats
from forehear.spine.around import Surroundings, heard_around, surroundings
from forehear.spine.crossings import crossings_hz, way_pressure
from forehear.spine.cures import cure_of
from forehear.spine.findings import findings_of, price_of
from forehear.spine.hearing import Hearing
from forehear.spine.prediction import Prediction, SeatResult, Trace
from forehear.spine.rules import rules_of
from forehear.spine.situation import Situation, driver_results, solve_situation
from forehear.spine.stories import explained

SOLVER = "instant"
NOT_MODELLED = (
    "the room is its six first reflections; later ones, and room modes below about 200 Hz, are not heard yet",
    "what leaves behind the front plane, and the wall that returns it, is estimated from a ball of equal volume",
)


def predict(design: Design, *, progress: Progress = unseen) -> Prediction:
    """Say what every seat of the brief hears of one design, why, and what would cure it.

    Raises
    ------
    DesignError
        When the network shorts the amplifier.
    """
    started = perf_counter()
    progress(0.0, f"{design.title}: the seats")
    situation = solve_situation(design, Hearing.standard())
    progress(0.2, f"{design.title}: all around")
    sound = surroundings(situation.speaker)
    around = heard_around(sound, situation.network.voltage, situation.smoothing)
    preference = preference_rating(around.curves, situation.grid)
    crossings = _crossings(situation, sound)
    progress(0.4, f"{design.title}: causes")
    seats = with_cures(situation, explained(situation), part_of(progress, 0.5, 1.0))
    return Prediction(
        design=design,
        grid=situation.grid,
        curves=around.curves,
        sound_power_sphere_db=around.sound_power_sphere_db,
        horizontal=around.horizontal,
        vertical=around.vertical,
        impedance_ohm=situation.network.impedance_ohm,
        drivers=driver_results(situation),
        seats=seats,
        spread_among_seats_db=_among_seats(situation, seats),
        bass_limit_hz=preference.low_extension_hz,
        preference=preference,
        crossings_hz=crossings,
        price=price_of(situation),
        rules=rules_of(situation, sound, seats, crossings),
        findings=findings_of(situation, seats, around),
        trace=Trace(
            design_hash=design.design_hash,
            solver=SOLVER,
            versions={name: version(name) for name in ("forehear", "numpy", "scipy")},
            estimated=tuple(_estimated(design)),
            seconds=perf_counter() - started,
        ),
    )


def with_cures(
    situation: Situation, seats: tuple[SeatResult, ...], progress: Progress
) -> tuple[SeatResult, ...]:
    """Look for a cure of the deepest hole of every seat that has one."""
    cured = []
    for index, seat in enumerate(seats):
        progress(index / len(seats), f"{situation.design.title}: cures for {seat.name}")
        cured.append(replace(seat, cure=cure_of(situation, index)) if seat.hole else seat)
    progress(1.0, situation.design.title)
    return tuple(cured)


def _crossings(situation: Situation, sound: Surroundings) -> tuple[float | None, ...]:
    ways = way_pressure(sound.horizontal, situation.network.voltage, situation.speaker.branches)
    ahead = ways[:, int(np.flatnonzero(ORBIT_ANGLES_DEG == 0.0)[0])]
    return crossings_hz(level_db(situation.smoothing.smooth(np.abs(ahead) ** 2)), situation.grid)


def _among_seats(situation: Situation, seats: tuple[SeatResult, ...]) -> float:
    """Spread among the seats of one placement; of several placements the most uneven one counts."""
    return max(
        spread_among_seats(
            np.stack([seat.in_room_smoothed_db for seat in seats if seat.placement == pose.placement]),
            situation.grid,
        )
        for pose in situation.scene.poses
    )


def _estimated(design: Design) -> Iterator[str]:
    yield from design.estimated
    yield from NOT_MODELLED
    if design.cabinet.edge_radius_m > 0:
        yield f"edges are taken as sharp; the radius of {1000 * design.cabinet.edge_radius_m:.0f} mm does not act yet"
