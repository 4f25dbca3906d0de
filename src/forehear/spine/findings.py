"""From numbers to what the designer should know, gravest first."""

from collections.abc import Iterable

import numpy as np

from forehear.design import Way, check_design
from forehear.ground.findings import Finding, Level
from forehear.ground.levels import level_db
from forehear.judge import Hole, in_room_trend, lowest_allowed_impedance_ohm
from forehear.judge.words import (
    coverage_sentence,
    db_words,
    direct_hole_sentence,
    fills_sentence,
    frequency_words,
    hole_sentence,
    listed,
    room_fills_sentence,
    shares_sentence,
)
from forehear.spine.around import Around
from forehear.spine.causes import CROSSING, EDGES, SIZE, SPACING
from forehear.spine.disagreement import disagreement_findings
from forehear.spine.prediction import HoleStory, SeatResult
from forehear.spine.situation import Situation, sound_of
from forehear.spine.stories import reflections_at

GRAVEST = {Level.STOPS: 0, Level.CHECK: 1, Level.FINE: 2}
NO_CURE = "none: no single change of crossing, spacing, turn or way halves it"
FILLED_DB = 1.0  # less than this is not called filling
NOT_SEARCHED = "not looked for: cure the deepest hole of this seat first"
LACKING_DB = 1.0  # less of the sound power than this is not named
AUDIBLE_DB = 0.5  # a reflection worth less than this is not named


def findings_of(
    situation: Situation,
    seats: Iterable[SeatResult],
    around: Around,
) -> tuple[Finding, ...]:
    """Gather everything that should be known, `stops` before `check` before `fine`."""
    found = [*check_design(situation.design), *_impedance(situation)]
    for seat in seats:
        found += _at_seat(situation, seat, around)
    found += _goals(situation)
    found += disagreement_findings(situation)
    found.append(_coverage(situation, around))
    return tuple(sorted(found, key=lambda finding: GRAVEST[finding.level]))


def _at_seat(situation: Situation, seat: SeatResult, around: Around) -> list[Finding]:
    name = _heard_from(situation, seat)
    found = [_hole_in_room(situation, seat, holes, around) for holes in together(seat)]
    for story in seat.stories:
        remains = any(story_of(seat, hole) is story for hole in seat.holes)
        if not remains:
            found.append(_filled(situation, name, story))
    return found


def together(seat: SeatResult) -> list[list[Hole]]:
    """Group the holes in the room that stem from one direct hole, the deepest first; others stand alone."""
    groups: list[tuple[HoleStory | None, list[Hole]]] = []
    for hole in seat.holes:
        story = story_of(seat, hole)
        same = next((holes for told, holes in groups if story is not None and told is story), None)
        if same is None:
            groups.append((story, [hole]))
        else:
            same.append(hole)
    return [holes for _, holes in groups]


def story_of(seat: SeatResult, hole: Hole) -> HoleStory | None:
    """Return the story of the direct hole that a hole in the room stems from, if it stems from one."""
    for story in seat.stories:
        if story.hole.lower_hz <= hole.frequency_hz <= story.hole.upper_hz:
            return story
    return None


def _heard_from(situation: Situation, seat: SeatResult) -> str:
    return f"{seat.name} (from {seat.placement})" if len(situation.scene.poses) > 1 else seat.name


def _hole_in_room(situation: Situation, seat: SeatResult, holes: list[Hole], around: Around) -> Finding:
    hole, story = holes[0], story_of(seat, holes[0])
    what = hole_sentence(_heard_from(situation, seat), hole.depth_db, hole.frequency_hz)
    for beside in holes[1:]:
        what = f"{what[:-1]}, and {db_words(beside.depth_db)} at {frequency_words(beside.frequency_hz)}."
    if story is not None:
        filled = story.hole.depth_db - hole.depth_db
        what = f"{what[:-1]}; {room_fills_sentence(filled, story.hole.depth_db)}."
        cause = f"of the direct hole: {_shares(story)}"
        where = _where(situation, story)
    else:
        cause, where = _of_the_room(situation, seat, hole, around)
    searched = seat.cure.words if seat.cure else NO_CURE
    words = searched if hole is seat.hole else NOT_SEARCHED
    return Finding(Level.CHECK, "hole-in-room", what, where, cause, words)


def _of_the_room(situation: Situation, seat: SeatResult, hole: Hole, around: Around) -> tuple[str, str]:
    """Say why the sound in the room has a hole that the direct sound has not, and where that is decided."""
    lacking_db = _power_lacking_db(situation, around, hole)
    fills = reflections_at(situation, sound_of(situation, seat), [hole])[0]
    diggers = [
        f"{fill.surface} {db_words(fill.fill_db)}" for fill in reversed(fills) if fill.fill_db <= -AUDIBLE_DB
    ]
    causes = []
    if lacking_db >= LACKING_DB:
        causes.append(
            f"into all directions together the speaker sends {db_words(lacking_db)} less there than around it"
        )
    if diggers:
        causes.append(f"reflections against the direct sound: {listed(diggers)}")
    of_the_speaker = lacking_db >= hole.depth_db / 2
    where = _where_loudest(situation, hole.frequency_hz) if of_the_speaker else _where_placed(situation, seat)
    return "; ".join(causes) or "the room", where


def _power_lacking_db(situation: Situation, around: Around, hole: Hole) -> float:
    """How far the sound power falls below its own trend at a hole."""
    power_db = level_db(situation.smoothing.smooth(10 ** (around.curves.sound_power_db / 10)))
    below_db = in_room_trend(power_db, situation.grid) - power_db
    return float(below_db[np.argmin(np.abs(np.log(situation.grid.frequency_hz / hole.frequency_hz)))])


def _where_loudest(situation: Situation, frequency_hz: float) -> str:
    """Return the place of the way that is loudest at a frequency: its drivers' spacing, or its network."""
    design = situation.design
    way = max(design.ways, key=lambda way: _loudness(situation, way, frequency_hz))
    if len(way.drivers) > 1:
        return design.where("drivers", way.drivers[0], "centre")
    return design.where("ways", way.name, "network")


def _filled(situation: Situation, seat_name: str, story: HoleStory) -> Finding:
    """Tell of a direct hole that the room fills, or leaves too narrow to be heard as one."""
    hole = story.hole
    filled = hole.depth_db - story.depth_in_room_db
    fills = {fill.surface: fill.fill_db for fill in story.fills}
    what = direct_hole_sentence(seat_name, hole.depth_db, hole.frequency_hz)
    if filled < FILLED_DB:
        what = f"{what[:-1]}; in the room too little of it is left, or too narrow, to count as a hole."
    else:
        what = f"{what[:-1]}, but {room_fills_sentence(filled, hole.depth_db)}, {fills_sentence(fills)}."
    return Finding(Level.FINE, "direct-hole-filled", what, _where(situation, story), _shares(story))


def _shares(story: HoleStory) -> str:
    return shares_sentence({share.cause: share.share_db for share in story.shares})


def _where(situation: Situation, story: HoleStory) -> str:
    """Return the place in the file that the largest cause points to."""
    design, largest = situation.design, story.shares[0].cause
    ways = design.ways
    if largest == SPACING:  # a driver alone in its way is spaced from nothing
        ways = tuple(way for way in ways if len(way.drivers) > 1) or ways
    way = max(ways, key=lambda way: _loudness(situation, way, story.hole.frequency_hz))
    if largest == EDGES:
        return design.where("cabinet")
    if largest == CROSSING:
        return design.where("ways", way.name, "network")
    return design.where("drivers", way.drivers[0], "part" if largest == SIZE else "centre")


def _loudness(situation: Situation, way: Way, frequency_hz: float) -> float:
    """Pressure of one way straight ahead, in the band of a frequency."""
    band = int(np.argmin(np.abs(np.log(situation.grid.frequency_hz / frequency_hz))))
    rows = [situation.speaker.drivers.index(name) for name in way.drivers]
    volts_v = situation.network.voltage.volts_v[rows, band]
    return float(abs((situation.sounds[0].on_axis_pa_v[rows, band] * volts_v).sum()))


def _where_placed(situation: Situation, seat: SeatResult) -> str:
    place = next(place for place in situation.design.own_placements if place.name == seat.placement)
    return place.where


def _impedance(situation: Situation) -> list[Finding]:
    design = situation.design
    magnitude = np.abs(situation.network.impedance_ohm)
    lowest, at_hz = float(magnitude.min()), float(situation.grid.frequency_hz[magnitude.argmin()])
    said = f"The impedance falls to {lowest:.1f} ohm at {frequency_words(at_hz)}"
    found = []
    rated = design.rated_impedance_ohm
    if rated is not None and lowest < (allowed := lowest_allowed_impedance_ohm(rated)):
        found.append(
            Finding(
                Level.CHECK,
                "impedance-below-rated",
                f"{said}; {rated:g} ohm rated allows {allowed:.1f} ohm (80 %, IEC 60268-5).",
                design.where("rated impedance"),
                "branches in parallel near that frequency",
                f"rate it {lowest / 0.8:.1f} ohm or lower, or raise the impedance there",
            )
        )
    floor = design.brief.goals.lowest_impedance_ohm
    if floor is not None and lowest < floor:
        found.append(
            Finding(
                Level.STOPS,
                "impedance-below-goal",
                f"{said}; the brief asks for {floor:g} ohm at least.",
                design.where("ways"),
                "branches in parallel near that frequency",
                "wire the woofers in series, or choose drivers of higher impedance",
            )
        )
    return found


def _goals(situation: Situation) -> list[Finding]:
    """Hold size and price against the brief."""
    design, goals = situation.design, situation.design.brief.goals
    sizes = (design.cabinet.width_m, design.cabinet.height_m, design.cabinet.depth_m)
    found = []
    for name, size, largest in zip(("width", "height", "depth"), sizes, goals.largest_size_m, strict=True):
        if largest is not None and size > largest:
            found.append(
                Finding(
                    Level.STOPS,
                    "larger-than-goal",
                    f"The {name} is {1000 * size:.0f} mm; the brief allows {1000 * largest:.0f} mm.",
                    design.where("cabinet", name),
                    cure=f"make the {name} {1000 * (size - largest):.0f} mm smaller",
                )
            )
    price = price_of(situation)
    if goals.budget is not None and price is not None and price > goals.budget:
        found.append(
            Finding(
                Level.CHECK,
                "over-budget",
                f"Drivers and network cost {price:.0f} {design.brief.currency}; "
                f"the brief allows {goals.budget:.0f}.",
                design.where("design"),
            )
        )
    return found


def price_of(situation: Situation) -> float | None:
    """Price of drivers and network parts together; None unless every one has a price."""
    prices = [driver.part.price for driver in situation.design.drivers]
    prices += [part.component.price for part in situation.design.network_parts]
    known = [price for price in prices if price is not None]
    return sum(known) if len(known) == len(prices) else None


def _coverage(situation: Situation, around: Around) -> Finding:
    covered = around.horizontal.coverage
    limits = (covered.negative_limit_hz, covered.positive_limit_hz)
    narrower = limits[0] if covered.negative_deg < covered.positive_deg else limits[1]
    what = coverage_sentence(covered.negative_deg, covered.positive_deg, narrower)
    return Finding(Level.FINE, "coverage", what, situation.design.where("drivers"))
