"""What makes a finding: a hole that stays is to be checked, one that the room fills is fine, and each has a place."""

import re

import numpy as np
import pytest

from forehear.design import Change, Design
from forehear.ground.findings import Finding, Level
from forehear.judge.words import db_words, frequency_words
from forehear.room import SURFACES
from forehear.spine import Prediction
from forehear.spine.around import heard_around, surroundings
from forehear.spine.findings import NO_CURE, NOT_SEARCHED, findings_of
from forehear.spine.prediction import SeatResult
from forehear.spine.situation import solve_situation
from rooms.attic import CANDIDATES, HEARING, candidate, prediction

PLACE = re.compile(r"^[\w-]+(/[\w-]+)*\.yaml:\d+:\d+  \S")
VIEWS = [(name, None) for name in CANDIDATES] + [("twin", 20.0)]


def about(found: Prediction, code: str, seat: SeatResult) -> list[Finding]:
    return [one for one in found.findings if one.code == code and seat.name.lower() in one.what.lower()]


@pytest.mark.parametrize(("name", "turn_deg"), VIEWS)
def test_a_hole_is_to_be_checked_where_it_stays_in_the_room_and_only_there(
    name: str, turn_deg: float | None
) -> None:
    found = prediction(name, turn_deg)
    for seat in found.seats:
        stays = about(found, "hole-in-room", seat)
        assert bool(stays) == bool(seat.hole)
        said = " ".join(one.what.replace(" deep", "") for one in stays)
        for hole in seat.holes:  # every one is told, those of one direct hole in one sentence
            assert f"{db_words(hole.depth_db)} at {frequency_words(hole.frequency_hz)}" in said
        assert all(one.level is Level.CHECK and one.cause for one in stays)
        for one in stays[:1]:
            assert one.cure == (seat.cure.words if seat.cure else NO_CURE)
        assert {one.cure for one in stays[1:]} <= {NOT_SEARCHED}
    assert not any("hole" in one.code for one in found.findings if one.level is Level.STOPS)


@pytest.mark.parametrize(("name", "turn_deg"), VIEWS)
def test_a_direct_hole_that_the_room_fills_is_fine_and_names_what_fills_it(
    name: str, turn_deg: float | None
) -> None:
    found = prediction(name, turn_deg)
    for seat in found.seats:
        filled = about(found, "direct-hole-filled", seat)
        open_holes = [(hole.frequency_hz) for hole in seat.holes]
        explained = [
            story
            for story in seat.stories
            if not any(story.hole.lower_hz <= hz <= story.hole.upper_hz for hz in open_holes)
        ]
        assert len(filled) == len(explained)
        for one, story in zip(filled, explained, strict=True):
            assert one.level is Level.FINE
            assert frequency_words(story.hole.frequency_hz) in one.what
            fills = {fill.surface: fill.fill_db for fill in story.fills}
            assert set(fills) == set(SURFACES)
            if "the room fills" not in one.what:
                assert "to count as a hole" in one.what
                continue
            for surface, fill_db in fills.items():
                assert (f"the {surface} (" in one.what) == (fill_db >= 0.5)
            assert "by no single reflection" in one.what or max(fills.values()) >= 0.5


def test_the_example_shows_both_kinds() -> None:
    told = [one for name, turn in VIEWS for one in prediction(name, turn).findings]
    assert {"hole-in-room", "direct-hole-filled", "coverage"} <= {one.code for one in told}
    assert any("the room fills" in one.what for one in told if one.code == "direct-hole-filled")
    causes = [one.cause for one in told if one.code == "hole-in-room"]
    assert any("into all directions together the speaker sends" in cause for cause in causes)
    assert any("reflections against the direct sound" in cause for cause in causes)


def test_spacing_points_to_drivers_that_are_spaced() -> None:
    told = [one for one in prediction("twin").findings if one.cause.startswith("spacing")]
    assert told
    assert all("woofer" in one.where for one in told)


def test_that_nothing_cures_a_hole_is_said() -> None:
    uncured = [
        (name, seat) for name in CANDIDATES for seat in prediction(name).seats if seat.hole and not seat.cure
    ]
    assert uncured
    for name, seat in uncured:
        one, *_ = about(prediction(name), "hole-in-room", seat)
        assert one.cure.startswith("none")


@pytest.mark.parametrize(("name", "turn_deg"), VIEWS)
def test_findings_come_gravest_first_and_have_their_place(name: str, turn_deg: float | None) -> None:
    found = prediction(name, turn_deg)
    order = [["stops", "check", "fine"].index(one.level) for one in found.findings]
    assert order == sorted(order)
    for one in found.findings:
        assert PLACE.match(one.where), one
        label, line, column = re.match(r"(.*\.yaml):(\d+):(\d+)", one.where).groups()
        (document,) = [d for d in found.design.documents if d.label == label]
        assert document.text().splitlines()[int(line) - 1][int(column) - 1 :].strip()
        assert one.what.endswith(".")


def findings(design: Design) -> tuple[Finding, ...]:
    """The findings without looking for cures, which takes longer."""
    found = solve_situation(design, HEARING)
    sound = surroundings(found.speaker)
    return findings_of(found, found.seats, heard_around(sound, found.network.voltage, found.smoothing))


def test_what_the_brief_forbids_stops_and_comes_first() -> None:
    twin = candidate("twin")
    strict = twin.with_brief_changes(
        [
            Change(("goals", "lowest impedance"), "7.5 ohm"),
            Change(("goals", "largest size", "width"), "300 mm"),
            Change(("goals", "budget"), "20"),
        ]
    )
    found = findings(strict)
    stops = [one for one in found if one.level is Level.STOPS]
    assert {one.code for one in stops} == {"impedance-below-goal", "larger-than-goal"}
    assert found[: len(stops)] == tuple(stops)
    impedance = next(one for one in stops if one.code == "impedance-below-goal")
    lowest = np.abs(prediction("twin").impedance_ohm).min()
    assert f"{lowest:.1f} ohm" in impedance.what
    assert "7.5 ohm" in impedance.what
    assert any(one.code == "over-budget" and one.level is Level.CHECK for one in found)
    assert not any(one.code.startswith(("impedance", "larger", "over")) for one in findings(twin))


@pytest.mark.parametrize(("rated_ohm", "told"), [(3.0, 0), (16.0, 1)])
def test_impedance_under_four_fifths_of_the_rated_is_to_be_checked(rated_ohm: float, told: int) -> None:
    # IEC 60268-5: the lowest impedance is at least 80 % of the rated one
    found = findings(candidate("twin").with_changes([Change(("rated impedance",), f"{rated_ohm:g} ohm")]))
    low = [one for one in found if one.code == "impedance-below-rated"]
    assert len(low) == told
    assert all(one.level is Level.CHECK and f"{0.8 * rated_ohm:.1f} ohm" in one.what for one in low)


def test_holes_are_told_for_every_placement_by_name() -> None:
    design = candidate("twin").with_changes(
        [
            Change(("placements", "left"), "{position: [0.55 m, 1.0 m, 0.62 m], tilt: 7 deg}"),
        ]
    )
    found = solve_situation(design, HEARING)
    assert [seat.placement for seat in found.seats] == ["centre"] * 4 + ["left"] * 4
    told = [one.what for one in findings(design) if one.code == "hole-in-room"]
    with_hole = [seat for seat in found.seats if seat.hole]
    assert len(told) >= len(with_hole)
    for seat in with_hole:
        assert any(f"{seat.name} (from {seat.placement})" in what for what in told)
    assert all(" (from " in what for what in told)


def test_a_seat_behind_the_front_is_to_be_checked_not_refused() -> None:
    behind = candidate("twin").with_brief_changes(
        [Change(("seats", "armchair", "position"), "[0.3 m, 3.5 m]")]
    )
    found = findings(behind)
    (told,) = [one for one in found if one.code == "seat-behind-front"]
    assert told.level is Level.CHECK
    assert "brief.yaml" in told.where
