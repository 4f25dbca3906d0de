"""The picture of a design: everything a page shows, as one header and arrays."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from forehear.app.desk.frames import Packed, packed
from forehear.app.desk.network_shown import Effects, ways_shown
from forehear.app.desk.places_shown import front_shown, placements_shown, reflectors_shown
from forehear.app.desk.sight import ORBITS, WHOLE, Part, Sight
from forehear.design import Design
from forehear.ground.axes import ORBIT_ANGLES_DEG
from forehear.ground.findings import Finding
from forehear.ground.reading.nodes import Plain
from forehear.judge import Coverage
from forehear.spine.export import (
    direct_numbers,
    range_numbers,
    seat_numbers,
    speech_numbers,
    story_as_plain_data,
    together_as_plain_data,
)
from forehear.spine.live import AHEAD, Live, Reasons
from forehear.spine.origin import estimated_in, solver_in_short
from forehear.spine.prediction import DirectResult, HoleStory, Orbit, RoomStory, SeatResult, Together

Arrays = dict[str, NDArray[Any]]


@dataclass(frozen=True, eq=False)
class Shown:
    """What a picture is made of, beside the state of the folder."""

    live: Live
    kept: Live | None
    other: Live | None
    reasons: Reasons | None  # of this revision, or of an older one of the same candidate
    effects: Effects | None
    story: RoomStory | None  # of this revision; None until it is known
    together: Together | None  # as well; None also where one speaker stands alone
    full: bool  # the reasons and effects are of this revision


def picture(state: Mapping[str, Any], shown: Shown, sight: Sight = WHOLE) -> Packed:
    """Pack a picture; `state` is what the folder says of itself (candidates, undo, kept and so on).

    Of a picture that is not whole everything outside the sight is left out: whoever looks has it from before.
    """
    design, whole = shown.live.setting.design, sight == WHOLE
    length_m, width_m, height_m = design.brief.room_m
    head = {
        "kind": "picture",
        **state,
        "full": shown.full,
        "whole": whole,
        "solver": _solver_words(shown),
        "room": {
            "title": design.brief.title,
            "length_m": length_m,
            "width_m": width_m,
            "height_m": height_m,
        },
        "placements": placements_shown(design),
        "reflectors": reflectors_shown(design),
        **front_shown(design),
        **_in_sight(shown, sight),
        **(_told(shown) if whole else {}),
    }
    return packed(head, dict(_arrays(shown, sight)))


# --- header -----------------------------------------------------------------------------------------------------------


def _in_sight(shown: Shown, sight: Sight) -> dict[str, Any]:
    """Everything that changes while a hand moves, as far as it is looked at."""
    live, design = shown.live, shown.live.setting.design
    head: dict[str, Any] = {}
    if Part.SEATS in sight:
        head["seats"] = [_seat(seat, shown, explained=sight == WHOLE) for seat in live.situation.seats]
        head["spread_among_seats_db"] = round(live.spread_among_seats_db, 4)
    elif Part.DIRECT in sight:
        head["seats"] = [{**direct_numbers(seat), **_place_of(seat, design)} for seat in live.direct]
    if Part.NETWORK in sight:
        head["ways"] = ways_shown(design, shown.effects)
        head["impedance_minimum"] = _least_impedance(live)
        head["rated_impedance_ohm"] = design.rated_impedance_ohm
    orbits = sorted(sight & ORBITS)
    if orbits:
        head["coverage"] = {part.value: _coverage(getattr(live.around, part).coverage) for part in orbits}
    return head


def _solver_words(shown: Shown) -> str:
    """Say which solver the numbers come from, and whether those beside them come from another one."""
    own, *beside = (
        solver_in_short(live.setting.speaker.refined)
        for live in (shown.live, shown.kept, shown.other)
        if live
    )
    others = dict.fromkeys(words for words in beside if words != own)
    return f"{own}, against {', '.join(others)}" if others else own


def _told(shown: Shown) -> dict[str, Any]:
    """Everything in words, and what no desk shows."""
    design, reasons = shown.live.setting.design, shown.reasons
    return {
        "findings": [_finding(finding, design) for finding in (reasons.findings if reasons else ())],
        "rules": [
            {"what": rule.what, "rule": rule.rule, "exact": rule.exact}
            for rule in (reasons.rules if reasons else ())
        ],
        "story": story_as_plain_data(shown.story) if shown.story else None,
        "together": together_as_plain_data(shown.together) if shown.together else None,
        "crossings_hz": [None if hz is None else round(hz, 1) for hz in shown.live.crossings_hz],
        "estimated": list(estimated_in(design, shown.live.setting.speaker.refined)),
    }


def _least_impedance(live: Live) -> dict[str, float]:
    impedance = np.abs(live.setting.network.impedance_ohm)
    lowest = int(impedance.argmin())
    hz = float(live.setting.grid.frequency_hz[lowest])
    return {"ohm": round(float(impedance[lowest]), 4), "hz": round(hz, 2)}


def _place_of(seat: DirectResult, design: Design) -> dict[str, float]:
    x_m, y_m, ear_m = next(one.position_m for one in design.brief.seats if one.name == seat.name)
    return {"x_m": x_m, "y_m": y_m, "ear_m": ear_m}


def _seat(seat: SeatResult, shown: Shown, *, explained: bool) -> dict[str, Any]:
    """Return a row of a seat; explained with the causes of its holes, as far as they are known."""
    row = {
        **seat_numbers(seat),
        **_place_of(seat, shown.live.setting.design),
        "kept": _heard_by(shown.kept, seat),
        "other": _heard_by(shown.other, seat),
    }
    if explained:
        known = shown.reasons.seats if shown.reasons else ()
        told = next((one for one in known if (one.placement, one.name) == (seat.placement, seat.name)), None)
        row["stories"] = [_story(story) for story in told.stories] if told else []
        row["cure"] = told.cure.words if told and told.cure else None
        row["heard"] = {**speech_numbers(told), **range_numbers(told)} if told and told.speech else None
    return row


def _same_seat(other: Live | None, seat: SeatResult) -> SeatResult | None:
    found = other.situation.seats if other else ()
    return next((one for one in found if (one.placement, one.name) == (seat.placement, seat.name)), None)


def _heard_by(other: Live | None, seat: SeatResult) -> dict[str, Any] | None:
    found = _same_seat(other, seat)
    if found is None:
        return None
    numbers = seat_numbers(found)
    return {key: numbers[key] for key in ("spread_db", "direct_spread_db", "hole", "direct_hole")}


def _story(story: HoleStory) -> dict[str, Any]:
    return {
        "db": round(-story.hole.depth_db, 4),
        "hz": round(story.hole.frequency_hz, 2),
        "shares": [{"cause": share.cause, "db": round(share.share_db, 4)} for share in story.shares],
        "rest_db": round(story.rest_db, 4),
        "in_room_db": round(story.depth_in_room_db, 4),
        "fills": [{"surface": fill.surface, "db": round(fill.fill_db, 4)} for fill in story.fills],
    }


def _coverage(covered: Coverage) -> dict[str, float | None]:
    limits = [covered.positive_limit_hz, covered.negative_limit_hz]
    positive_hz, negative_hz = (None if hz is None else round(hz, 2) for hz in limits)
    return {
        "positive_deg": round(covered.positive_deg, 2),
        "negative_deg": round(covered.negative_deg, 2),
        "positive_limit_hz": positive_hz,
        "negative_limit_hz": negative_hz,
    }


# --- findings ---------------------------------------------------------------------------------------------------------


def _finding(finding: Finding, design: Design) -> dict[str, Any]:
    return {
        "code": finding.code,
        "level": str(finding.level),
        "what": finding.what,
        "where": finding.where,
        "cause": finding.cause,
        "cure": finding.cure,
        "show": _place(finding.where, design),
    }


def _place(where: str, design: Design) -> dict[str, str] | None:
    """Turn the keys a finding points to into a desk and the thing to mark there."""
    label, _, path = where.partition("  ")
    keys = path.split(" > ")
    file = re.sub(r":\d+:\d+$", "", label)
    for driver in design.drivers:
        if driver.part.document.label == file:
            return {"desk": "front", "target": driver.name}
    if keys[0] == "ways":
        inside = len(keys) > 2 and keys[2] == "enclosure"
        return {"desk": "front" if inside else "network", "target": keys[1] if len(keys) > 1 else ""}
    desk = {"drivers": "front", "cabinet": "front", "seats": "seats", "placements": "seats"}.get(keys[0])
    if desk is None:
        return {"desk": "network", "target": ""} if keys[0] == "rated impedance" else None
    return {"desk": desk, "target": keys[1] if len(keys) > 1 and keys[0] != "cabinet" else keys[0]}


# --- arrays -----------------------------------------------------------------------------------------------------------


def _arrays(shown: Shown, sight: Sight) -> Iterator[tuple[str, NDArray[Any]]]:
    """Yield the arrays in sight; what is compared with changes under a hand at the seats alone."""
    live = shown.live
    if Part.SEATS in sight:
        seats = live.situation.seats
        yield from _seat_arrays("", seats).items()
        for name, one in _beside(shown):
            yield from _seat_arrays(name, [_same_seat(one, seat) for seat in seats]).items()
    for part in sorted(sight & ORBITS):
        yield from _orbit(part, getattr(live.around, part)).items()
    if Part.CURVES in sight:
        yield from _curves("", live).items()
    if Part.NETWORK in sight:
        yield from _network(live).items()
    if sight == WHOLE:
        yield "frequency_hz", live.setting.grid.frequency_hz
        yield "angle_deg", ORBIT_ANGLES_DEG
        for name, one in _beside(shown):
            yield from _compared(name, one).items()


def _beside(shown: Shown) -> list[tuple[str, Live]]:
    """Return what is compared with, and how its arrays are named."""
    return [(name, one) for name, one in (("kept.", shown.kept), ("other.", shown.other)) if one]


def _seat_arrays(prefix: str, seats: Sequence[SeatResult | None]) -> Arrays:
    """Curves of the seats in the order of the picture; a seat that is not there is all nothing."""
    fields = {
        "in_room_db": "in_room_smoothed_db",
        "in_room_trend_db": "in_room_trend_db",
        "direct_db": "direct_smoothed_db",
        "direct_trend_db": "direct_trend_db",
    }
    there = next((seat for seat in seats if seat is not None), None)
    if there is None:
        return {}
    nothing = np.full(there.in_room_db.shape, np.nan)
    return {
        f"{prefix}seat.{name}": np.stack(
            [nothing if seat is None else getattr(seat, field) for seat in seats]
        )
        for name, field in fields.items()
    }


def _network(live: Live) -> Arrays:
    setting = live.setting
    branches = [setting.network.branches[way.name] for way in setting.design.ways]
    volts = np.abs([branch.output_voltage_v for branch in branches])
    return {
        "way.voltage_db": 20 * np.log10(np.maximum(volts, 1e-12)),
        "way.acoustic_db": live.way_db,
        "sum.acoustic_db": live.on_axis_db,
        **_impedance("", live),
    }


def _impedance(prefix: str, live: Live) -> Arrays:
    impedance = live.setting.network.impedance_ohm
    return {
        f"{prefix}impedance.magnitude_ohm": np.abs(impedance),
        f"{prefix}impedance.phase_deg": np.degrees(np.angle(impedance)),
    }


def _compared(prefix: str, live: Live) -> Arrays:
    """Return what is compared with beside the seats; a hand does not change it."""
    return {
        **_curves(prefix, live),
        **_impedance(prefix, live),
        f"{prefix}orbit.horizontal_db": _on_axis_is_zero(live.around.horizontal),
        f"{prefix}orbit.vertical_db": _on_axis_is_zero(live.around.vertical),
    }


def _curves(prefix: str, live: Live) -> Arrays:
    curves = live.around.curves
    names = (
        "on_axis_db",
        "listening_window_db",
        "early_reflections_db",
        "sound_power_db",
        "directivity_index_db",
        "early_reflections_directivity_index_db",
        "estimated_in_room_db",
    )
    return {f"{prefix}curves.{name}": getattr(curves, name) for name in names}


def _on_axis_is_zero(orbit: Orbit) -> NDArray[Any]:
    relative: NDArray[Any] = orbit.level_db - orbit.level_db[AHEAD]
    return relative


def _orbit(name: str, orbit: Orbit) -> Arrays:
    beam = orbit.beamwidth
    return {
        f"orbit.{name}_db": _on_axis_is_zero(orbit),
        f"orbit.{name}_beam_deg": np.stack([beam.positive_deg, beam.negative_deg]),
    }


# --- changes since A --------------------------------------------------------------------------------------------------


def changes_since(kept: Design, now: Design) -> list[dict[str, str]]:
    """List what differs between two designs and their briefs, value by value."""
    found: list[dict[str, str]] = []
    for before, after in ((kept.document, now.document), (kept.brief.document, now.brief.document)):
        if before.source != after.source:
            old, new = dict(_leaves(before.plain(), "")), dict(_leaves(after.plain(), ""))
            found += [
                {"what": what, "kept": old.get(what, "none"), "now": new.get(what, "none")}
                for what in dict.fromkeys([*old, *new])
                if old.get(what) != new.get(what)
            ]
    return found


def _leaves(value: Plain, path: str) -> Iterator[tuple[str, str]]:
    """Give every value with the words that lead to it; lists of plain values stay together."""
    if isinstance(value, list) and not any(isinstance(item, dict | list) for item in value):
        yield path, ", ".join(str(item) for item in value)
    elif isinstance(value, dict | list):
        keyed = value.items() if isinstance(value, dict) else enumerate(value, start=1)
        for key, item in keyed:
            yield from _leaves(item, f"{path} > {key}" if path else str(key))
    else:
        yield path, str(value)
