"""Where a prediction comes from: which solver says what, and what of a design is estimated, simplified or left out."""

from collections.abc import Iterator

from forehear.design import Design, VentedBox
from forehear.ground.axes import FrequencyGrid
from forehear.judge.words import frequency_words, listed
from forehear.spine.prediction import SolvedBand
from forehear.spine.refined import Refined

REFERENCE, BOTH, INSTANT = "reference", "reference and instant", "instant"
ROOM = "the room is a box without furniture; what that scatters is a share that rises from 0 to 0.3 with frequency"
BEHIND = "what leaves behind the front plane, and the wall that returns it, is estimated from a ball of equal volume"


def solver_of(refined: Refined | None) -> str:
    """Return the best solver that has a part in a prediction."""
    return REFERENCE if refined else INSTANT


def solver_in_short(refined: Refined | None) -> str:
    """Say in few words which solver a picture comes from."""
    return f"{REFERENCE} to {frequency_words(refined.reach.blend_from_hz)}" if refined else INSTANT


def solved_bands(refined: Refined | None, grid: FrequencyGrid) -> tuple[SolvedBand, ...]:
    """Return which solver holds from where to where."""
    lowest_hz, highest_hz = grid.frequency_hz[[0, -1]].tolist()
    if refined is None:
        return (SolvedBand(lowest_hz, highest_hz, INSTANT),)
    begin_hz, top_hz = refined.reach.blend_from_hz, refined.reach.top_hz
    return (
        SolvedBand(lowest_hz, begin_hz, REFERENCE),
        SolvedBand(begin_hz, top_hz, BOTH),
        SolvedBand(top_hz, highest_hz, INSTANT),
    )


def estimated_in(design: Design, refined: Refined | None) -> tuple[str, ...]:
    """Say in words what a prediction of a design estimates, simplifies or leaves out."""
    shape = _of_instant(design) if refined is None else _of_reference(design, refined)
    return (*design.estimated, ROOM, *shape, *_simplified(design))


def _of_instant(design: Design) -> Iterator[str]:
    yield BEHIND
    radius_m = design.cabinet.edge_radius_m
    if radius_m > 0:
        yield f"edges are taken as sharp; the radius of {_mm(radius_m)} acts in the reference solver only"


def _of_reference(design: Design, refined: Refined) -> Iterator[str]:
    begin, top = (frequency_words(hz) for hz in (refined.reach.blend_from_hz, refined.reach.top_hz))
    yield f"from {begin} the instant solver takes over, and holds from {top} upward: there {BEHIND}"
    if design.cabinet.edge_radius_m > 0:
        yield f"edges of {_mm(design.cabinet.edge_radius_m)} radius act up to {top}; above they are taken as sharp"
    domes = sorted({driver.part.name for driver in design.drivers if driver.part.dome_height_m > 0})
    if domes:
        yield f"{listed(domes)}: a flat piston up to {begin}, a dome above"
    yield "causes of holes, and cures that move drivers, are found with the instant solver"


def _simplified(design: Design) -> Iterator[str]:
    """Say what is not solved as drawn."""
    parts = {driver.part.name: driver for driver in design.drivers}
    cones = [name for name, driver in parts.items() if driver.part.kind == "cone"]
    if cones:
        yield f"{listed(cones)}: flat pistons in the front; how deep a cone is acts as the delay of its set back alone"
    if any(isinstance(way.enclosure, VentedBox) for way in design.ways):
        yield "ports: flat pistons in the front, without a flare"


def _mm(length_m: float) -> str:
    return f"{1000 * length_m:.0f} mm"
