"""The whole way: from one design to what every seat hears, why, and what would cure it."""

from collections.abc import Iterator
from importlib.metadata import version
from time import perf_counter

from forehear.design import Design
from forehear.ground.work import Progress, part_of, unseen
from forehear.judge import preference_rating
from forehear.spine.around import sphere_power_db
from forehear.spine.findings import price_of
from forehear.spine.hearing import Hearing
from forehear.spine.live import explain, solve_live, with_ranges
from forehear.spine.prediction import Prediction, Trace
from forehear.spine.room_story import tell_room
from forehear.spine.situation import driver_results
from forehear.spine.together import play_together

SOLVER = "instant"
NOT_MODELLED = (
    "the room is a box without furniture; what that scatters is a share that rises from 0 to 0.3 with frequency",
    "what leaves behind the front plane, and the wall that returns it, is estimated from a ball of equal volume",
)


def predict(design: Design, *, progress: Progress = unseen, room: bool = False) -> Prediction:
    """Say what every seat of the brief hears of one design, why, and what would cure it.

    Parameters
    ----------
    design
        As it was read.
    progress
        Told how far it is; may stop it by raising.
    room
        Whether to try turns, moves and treated surfaces, too.

    Raises
    ------
    DesignError
        When the network shorts the amplifier.
    """
    started = perf_counter()
    progress(0.0, f"{design.title}: the seats and all around")
    live = solve_live(design, Hearing.standard())
    situation, around = live.situation, live.around
    progress(0.3, f"{design.title}: sound power")
    sphere_db = sphere_power_db(situation.speaker, situation.network.voltage)
    preference = preference_rating(around.curves, situation.grid)
    reasons = explain(live, part_of(progress, 0.4, 0.6))
    reasons = with_ranges(live, reasons, part_of(progress, 0.6, 0.7))
    together = play_together(situation, part_of(progress, 0.7, 0.8))
    story = tell_room(situation, part_of(progress, 0.8, 1.0)) if room else None
    progress(1.0, design.title)
    return Prediction(
        design=design,
        grid=situation.grid,
        curves=around.curves,
        sound_power_sphere_db=sphere_db,
        horizontal=around.horizontal,
        vertical=around.vertical,
        impedance_ohm=situation.network.impedance_ohm,
        drivers=driver_results(situation),
        seats=reasons.seats,
        spread_among_seats_db=live.spread_among_seats_db,
        bass_limit_hz=preference.low_extension_hz,
        preference=preference,
        crossings_hz=live.crossings_hz,
        price=price_of(situation),
        rules=reasons.rules,
        findings=reasons.findings,
        together=together,
        room=story,
        trace=Trace(
            design_hash=design.design_hash,
            solver=SOLVER,
            versions={name: version(name) for name in ("forehear", "numpy", "scipy")},
            estimated=estimated_in(design),
            seconds=perf_counter() - started,
        ),
    )


def estimated_in(design: Design) -> tuple[str, ...]:
    """Say in words what a prediction of a design estimates or leaves out."""
    return tuple(_estimated(design))


def _estimated(design: Design) -> Iterator[str]:
    yield from design.estimated
    yield from NOT_MODELLED
    if design.cabinet.edge_radius_m > 0:
        yield f"edges are taken as sharp; the radius of {1000 * design.cabinet.edge_radius_m:.0f} mm does not act yet"
