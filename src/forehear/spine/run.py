"""The whole way: from one design to what every seat hears, why, and what would cure it."""

from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from importlib.metadata import version
from time import perf_counter

from forehear.design import Design
from forehear.ground.work import Progress, part_of, unseen
from forehear.judge import preference_rating
from forehear.spine.around import sphere_power_db
from forehear.spine.findings import price_of
from forehear.spine.hearing import Hearing
from forehear.spine.keeping import kept_ranges, kept_story
from forehear.spine.live import and_ranges, explain, solve_live
from forehear.spine.origin import estimated_in, solved_bands, solver_of
from forehear.spine.prediction import Prediction, Trace
from forehear.spine.refined import USUAL, Reach
from forehear.spine.situation import begin, driver_results, is_refined, refine_design
from forehear.spine.together import play_together


class SolverChoice(StrEnum):
    """How what a speaker radiates is found."""

    AUTO = "auto"  # by the reference solver where it has been before, else by the instant one
    INSTANT = "instant"
    REFERENCE = "reference"  # solved now where it has not been


def one_solver(designs: Sequence[Design], wanted: SolverChoice, reach: Reach = USUAL) -> SolverChoice:
    """Return what several designs are to be solved by so that they compare: not some by one solver, some by another."""
    if wanted is not SolverChoice.AUTO or all(is_refined(design, reach) for design in designs):
        return wanted
    return SolverChoice.INSTANT


def predict(
    design: Design,
    *,
    progress: Progress = unseen,
    room: bool = False,
    solver: SolverChoice = SolverChoice.AUTO,
    reach: Reach = USUAL,
) -> Prediction:
    """Say what every seat of the brief hears of one design, why, and what would cure it.

    Parameters
    ----------
    design
        As it was read.
    progress
        Told how far it is; may stop it by raising.
    room
        Whether to try turns, moves and treated surfaces, too.
    solver
        Which solver to use.
    reach
        How far up the reference solver goes.

    Raises
    ------
    DesignError
        When the network shorts the amplifier.
    SurfaceError, TooLittleMemory
        When the reference solver cannot take the shape; bands that are done stay done.
    """
    started = perf_counter()
    hearing = replace(Hearing.standard(), reach=None if solver is SolverChoice.INSTANT else reach)
    if solver is SolverChoice.REFERENCE:
        begin(design, hearing)  # what is wrong with the network is said before anything long
        refine_design(design, reach, part_of(progress, 0.0, 0.8))
        progress = part_of(progress, 0.8, 1.0)
    progress(0.0, f"{design.title}: the seats and all around")
    live = solve_live(design, hearing)
    situation, around, refined = live.situation, live.around, live.setting.speaker.refined
    progress(0.3, f"{design.title}: sound power")
    sphere_db = sphere_power_db(situation.speaker, situation.network.voltage)
    preference = preference_rating(around.curves, situation.grid)
    reasons = explain(live, part_of(progress, 0.4, 0.6))
    reasons = and_ranges(reasons, kept_ranges(situation, part_of(progress, 0.6, 0.7)))
    together = play_together(situation, part_of(progress, 0.7, 0.8))
    story = kept_story(situation, part_of(progress, 0.8, 1.0)) if room else None
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
            solver=solver_of(refined),
            versions={name: version(name) for name in ("forehear", "numpy", "scipy")},
            estimated=estimated_in(design, refined),
            seconds=perf_counter() - started,
            bands=solved_bands(refined, situation.grid),
        ),
    )
