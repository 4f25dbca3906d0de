"""How speakers stand: boards where the words say, refused where they cannot be; bodies that meet, against a solver."""

import math
import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import linprog, lsq_linear

from forehear.design import Change, Design, Placement, Reflector, Standing, boards_of, load
from forehear.design.geometry import cabinet_corners_m, speaker_axes
from forehear.design.solids import Box, box_of_cabinet, box_of_reflector, distance_m, overlap_m
from rooms.attic import copied
from rooms.test_design import complaints

LEFT = ("placements", "left")
STANDING = (*LEFT, "standing")
HUNG = "{position: [0.27 m, 1.1 m, 0.95 m], standing: {wall: {gap: 10 mm}}}"
SHELF = "{position: [0.31 m, 1.1 m, 0.95 m], standing: {shelf: {depth: 320 mm, set back: 10 mm}}}"
NICHE = "{width: 300 mm, height: 360 mm, depth: 300 mm, set back: 10 mm}"

# The starter's cabinet is 200 mm wide, 340 mm high, 260 mm deep; its room 5.2 m x 4.0 m x 2.5 m.


@pytest.fixture
def design(starter: Path) -> Design:
    return load(starter)


def boards(design: Design, text: str) -> dict[str, Reflector]:
    changed = design.with_brief_changes([Change(LEFT, text)])
    placement = next(one for one in changed.placements if one.name == "left")
    return {board.name.split(" of ")[0]: board for board in boards_of(changed, placement)}


def test_a_stand_and_a_wall_add_no_boards(design: Design) -> None:
    assert boards(design, "{position: [0.6 m, 1.1 m, 0.95 m], standing: stand}") == {}
    assert boards(design, HUNG) == {}


def test_a_shelf_lies_under_the_cabinet(design: Design) -> None:
    (board,) = boards(design, SHELF).values()
    # by hand: front edge at 0.31 + 0.01, back edge at 0; under a cabinet of 340 mm at 0.95 m
    assert board.middle_m == pytest.approx((0.16, 1.1, 0.78))
    assert (board.normal, board.width_m, board.height_m) == ((0, 0, 1), pytest.approx(0.9), 0.32)
    assert "standing" in board.where


def test_a_shelf_ends_at_the_side_wall(design: Design) -> None:
    (board,) = boards(design, SHELF.replace("1.1 m", "0.2 m")).values()
    assert board.middle_m[1] == pytest.approx((0 + 0.2 + 0.45) / 2)
    assert board.width_m == pytest.approx(0.65)


def test_a_niche_is_round_the_cabinet(design: Design) -> None:
    text = f"{{position: [0.4 m, 1.1 m, 0.95 m], standing: {{niche: {NICHE}}}}}"
    found = boards(design, text)
    assert {name: (board.middle_m, board.normal) for name, board in found.items()} == {
        "bottom": (pytest.approx((0.26, 1.1, 0.78)), (0, 0, 1)),
        "top": (pytest.approx((0.26, 1.1, 1.14)), (0, 0, -1)),
        "side toward the left wall": (pytest.approx((0.26, 0.95, 0.96)), (0, 1, 0)),
        "side toward the right wall": (pytest.approx((0.26, 1.25, 0.96)), (0, -1, 0)),
        "back": (pytest.approx((0.11, 1.1, 0.96)), (1, 0, 0)),
    }
    sizes = [(board.width_m, board.height_m) for board in found.values()]
    assert sizes == [pytest.approx(pair) for pair in [(0.3, 0.3)] * 2 + [(0.3, 0.36)] * 3]


@pytest.mark.parametrize("quarters", range(4))
def test_boards_turn_with_the_wall_behind(design: Design, quarters: int) -> None:
    """A niche turned with its speaker by quarters about the middle of a square room is the same niche."""
    brief = replace(design.brief, room=replace(design.brief.room, size_m=(4.0, 4.0, 2.5)))
    square = replace(design, brief=brief)
    standing = Standing("niche", 0.3, 0.4, 0.36, 0.01)
    turn = quarters * math.pi / 2
    spin = speaker_axes(Placement("", (0.0, 0.0, 0.0), turn, 0.0, None, ""))
    middle = np.array([2.0, 2.0, 0.0])

    def standing_at(position: tuple[float, float, float], turn_rad: float) -> list[Box]:
        placement = Placement("x", position, turn_rad, 0.1, None, "", standing)
        return [box_of_reflector(board) for board in boards_of(square, placement)]

    plain = standing_at((0.6, 1.1, 0.95), 0.05)
    x, y, z = (float(value) for value in middle + spin @ (np.array([0.6, 1.1, 0.95]) - middle))
    turned = standing_at((x, y, z), 0.05 + turn)
    wanted = sorted((middle + (box.corners_m() - middle) @ spin.T).round(9).tolist() for box in plain)
    for box in turned:
        corners = sorted(map(tuple, box.corners_m().round(9) + 0.0))
        assert any(
            np.allclose(corners, sorted(map(tuple, np.array(other) + 0.0)), atol=1e-8) for other in wanted
        )


def test_the_cabinet_stands_within_its_niche(design: Design) -> None:
    text = f"{{position: [0.4 m, 1.1 m, 0.95 m], tilt: 4 deg, turn: 8 deg, standing: {{niche: {NICHE}}}}}"
    changed = design.with_brief_changes([Change(LEFT, text.replace("360 mm", "380 mm"))])
    placement = changed.placements[0]
    corners = cabinet_corners_m(changed, placement)
    for board in boards_of(changed, placement):
        before_m = (corners - np.array(board.middle_m)) @ np.array(board.normal)
        assert before_m.min() >= -1e-9, board.name


@pytest.mark.parametrize(
    ("text", "words", "cure"),
    [
        (SHELF.replace("320 mm", "260 mm"), "depth of 260.0 mm, the cabinet set back 10.0 mm needs 270.0 mm",
         "depth: 270 mm or more"),
        (SHELF.replace("depth: 320 mm", "depth: 320 mm, width: 150 mm"), "width of 150.0 mm, the cabinet needs 200.0",
         "width: 200 mm or more"),
        (SHELF.replace("320 mm", "400 mm"), "goes through the side of the room (x is 0.08 m below 0)", "smaller"),
        (SHELF.replace("0.31 m", "0.5 m"), "floats: its back edge is 190.0 mm from the front wall", "held by: floor"),
        (SHELF.replace("10 mm", "-10 mm"), "-10 mm is too small; at least 0 mm", "0 mm or more"),
        (SHELF.replace("depth: 320 mm, ", ""), "'depth' is missing", "add 'depth"),
        (SHELF.replace("set back", "setback"), "the key 'setback' is not known", "'set back'"),
        (SHELF.replace("shelf:", "shelv:"), "the key 'shelv' is not known", "'shelf'"),
        (SHELF.replace("{shelf: {depth: 320 mm, set back: 10 mm}}", "shelf"), "does not say its sizes", "depth: 320"),
        (SHELF.replace("{shelf: {depth: 320 mm, set back: 10 mm}}", "ceiling"), "'ceiling' is not known", "stand"),
        (SHELF.replace("{shelf:", "{wall: {}, shelf:"), "found shelf and wall", "one of them"),
        (SHELF.replace("0.31 m, 1.1 m, 0.95 m", "0.5 m, 2.45 m, 1.05 m").replace("320", "510"),
         "the board of the shelf at 'left' cuts ", "move one of them by"),
        (SHELF.replace("0.31 m", "0.25 m"), "'left' does not fit inside the room (x is 0.01 m below 0)", "middle of"),
        (f"{{position: [0.4 m, 1.1 m, 0.95 m], standing: {{niche: {NICHE.replace('360', '300')}}}}}",
         "the niche at 'left' has a height of 300.0 mm, the cabinet needs 340.0 mm", "height: 340 mm"),
        (f"{{position: [0.4 m, 1.1 m, 0.95 m], standing: {{niche: {NICHE.replace('300 mm, h', '190 mm, h')}}}}}",
         "width of 190.0 mm", "width: 200 mm"),
        (f"{{position: [0.4 m, 0.11 m, 0.95 m], standing: {{niche: {NICHE}}}}}",
         "the niche at 'left' goes through the side of the room (y is 0.04 m below 0)", "move the speaker"),
        (HUNG.replace("0.27", "0.35"), "hangs 90.0 mm from the front wall, its gap is 10.0 mm",
         "x = 0.270 m, or write gap: 90 mm"),
        (HUNG.replace("0.27", "0.25"), "does not fit inside the room (x is 0.01 m below 0)", "the room is"),
        (HUNG.replace("0.95 m]", "0.95 m], turn: 180 deg").replace("0.27", "4.8"),
         "hangs 140.0 mm from the rear wall", "x = 4.930 m"),
        (HUNG.replace("0.95 m]", "0.95 m], turn: 90 deg").replace("0.27 m, 1.1", "1.0 m, 0.5"),
         "hangs 240.0 mm from the left wall", "y = 0.270 m"),
    ],
)  # fmt: skip
def test_a_speaker_that_cannot_stand_so(design: Design, text: str, words: str, cure: str) -> None:
    told = complaints(design, (LEFT, text), brief=True)
    matching = [error for error in told if words in error.what]
    assert matching, [str(error) for error in told]
    assert cure in matching[0].cure
    assert matching[0].where.startswith("brief.yaml:26:")


def test_a_sideboard_is_held_by_the_floor(design: Design) -> None:
    text = SHELF.replace("0.31 m", "0.5 m").replace("10 mm}", "10 mm, held by: floor}")
    assert complaints(design, (LEFT, text), brief=True) == []


def test_a_candidate_may_stand_otherwise(design: Design) -> None:
    hung = design.with_brief_changes([Change(LEFT, HUNG)])
    assert hung.placements[0].standing == Standing("wall", gap_m=0.01)
    moved = hung.with_changes(
        [Change((*LEFT, "position"), "[0.5 m, 1.1 m, 0.95 m]"), Change(STANDING, "stand")]
    )
    assert moved.placements[0].standing == Standing("stand")
    turned = hung.with_changes([Change((*LEFT, "tilt"), "0 deg")])
    assert turned.placements[0].standing == Standing("wall", gap_m=0.01)  # what it does not change stays
    (told,) = complaints(hung, (STANDING, "{wall: {gap: 80 mm}}"))
    assert "its gap is 80.0 mm" in told.what
    assert told.where.startswith("first-speaker.yaml:")


@pytest.mark.parametrize("name", ["stack", "twin", "trio"])
def test_what_the_example_offers_in_comments_can_be_used(tmp_path: Path, name: str) -> None:
    folder = copied(tmp_path / "attic")
    text = (folder / "brief.yaml").read_text(encoding="utf-8")
    (standing,) = re.findall(r"#   (standing: .*)", text)
    (screen,) = re.findall(r"# reflectors:\n#  ( screen: .*)", text)
    text = text.replace("tilt: 7 deg}", f"tilt: 7 deg, {standing}}}").replace(
        "\ngoals:", f"\nreflectors:\n{screen}\ngoals:"
    )
    (folder / "brief.yaml").write_text(text, encoding="utf-8")
    design = load(folder / f"{name}.yaml")
    assert [board.held_by for board in design.brief.reflectors] == [None]
    assert len(boards_of(design, design.placements[0])) == 1


def test_cabinets_in_each_other_are_refused(design: Design) -> None:
    place = ("placements", "right", "position")
    (told,) = complaints(design, (place, "[0.6 m, 1.2 m, 0.95 m]"), brief=True)
    assert told.what.startswith("the cabinets at 'left' and 'right' overlap by ")
    assert told.what.endswith("; the middles of their fronts are 100.0 mm apart")
    assert "placements > right" in told.where
    assert complaints(design, (place, "[0.6 m, 1.1 m, 1.291 m]"), brief=True) == []  # one on the other


def test_another_design_in_a_cabinet_is_refused(design: Design, starter: Path) -> None:
    (starter.parent / "other.yaml").write_text(starter.read_text())
    other = "{position: [0.5 m, 1.1 m, 0.95 m], design: other.yaml}"
    (told,) = complaints(design, (("placements", "right"), other), brief=True)
    assert "the cabinets at 'left' and 'right' overlap; the middles of their fronts are 100.0 mm" in told.what
    away = other.replace("1.1 m", "2.9 m")
    assert complaints(design, (("placements", "right"), away), brief=True) == []


# --- bodies, against a general-purpose solver

numbers = st.integers(-100, 100).map(lambda number: number / 100)
sizes = st.integers(0, 60).map(lambda number: number / 100)


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    turned = Placement("", (0.0, 0.0, 0.0), 3 * draw(numbers), 1.5 * draw(numbers), None, "")
    middle, half = draw(st.tuples(*[numbers] * 3)), draw(st.tuples(*[sizes] * 3))
    return Box(np.array(middle), speaker_axes(turned), np.array(half))


@given(boxes(), boxes())
def test_boxes_meet_where_a_common_point_exists(one: Box, other: Box) -> None:
    """linprog (SciPy) looks for a point inside both, and says how far both can shrink and still share it."""
    sides = np.vstack([one.axes.T, -one.axes.T, other.axes.T, -other.axes.T])
    limits = np.concatenate(
        [
            part
            for box in (one, other)
            for part in (box.axes.T @ box.middle_m + box.half_m, -box.axes.T @ box.middle_m + box.half_m)
        ]
    )
    shrunk = np.hstack([sides, np.ones((12, 1))])
    found = linprog([0, 0, 0, -1], A_ub=shrunk, b_ub=limits, bounds=[(None, None)] * 4)
    shares_m = -float(found.fun)  # the largest margin by which one point lies inside all twelve sides
    if abs(shares_m) > 1e-6:
        assert (overlap_m(one, other) > 0) == (shares_m > 0)
    assert overlap_m(one, other) == pytest.approx(overlap_m(other, one), abs=1e-9)


@given(boxes(), boxes(), st.floats(1e-3, 0.5))
def test_moved_by_the_overlap_they_part(one: Box, other: Box, more_m: float) -> None:
    deep_m = overlap_m(one, other)
    ways = [*one.axes.T, *other.axes.T, *(np.cross(a, b) for a in one.axes.T for b in other.axes.T)]
    units = [way / np.linalg.norm(way) for way in ways if np.linalg.norm(way) > 1e-9]
    step_m = max(deep_m, 0.0) + more_m
    moved = [
        replace(other, middle_m=other.middle_m + sign * step_m * way) for way in units for sign in (1, -1)
    ]
    assert min(overlap_m(one, box) for box in moved) < 0
    less = [
        replace(other, middle_m=other.middle_m + sign * 0.9 * deep_m * way)
        for way in units
        for sign in (1, -1)
    ]
    assert deep_m <= 1e-6 or all(overlap_m(one, box) > 0 for box in less)


@given(boxes(), st.tuples(*[numbers] * 3))
def test_the_distance_is_that_of_the_nearest_point(box: Box, point: tuple[float, float, float]) -> None:
    """lsq_linear (SciPy) finds the nearest point of the box."""
    half_m = box.half_m + 1e-9
    nearest = lsq_linear(box.axes, np.array(point) - box.middle_m, bounds=(-half_m, half_m), tol=1e-14)
    assert distance_m(box, np.array(point)) == pytest.approx(math.sqrt(2 * nearest.cost), abs=1e-5)


def test_a_cabinet_is_its_corners(design: Design) -> None:
    placement = replace(design.placements[0], tilt_rad=0.2)
    corners = box_of_cabinet(design.cabinet, placement).corners_m()
    told = sorted(map(tuple, corners.round(9)))
    np.testing.assert_allclose(told, sorted(map(tuple, cabinet_corners_m(design, placement).round(9))))
