"""What cannot be where something else is: cabinets in each other, reflectors through heads, cabinets and walls."""

import itertools
import math
from collections.abc import Iterable, Iterator

import numpy as np

from forehear.design.boards import ROUNDING_M, TOUCHING_M, boards_of
from forehear.design.brief import SURFACES, Brief, Placement, Reflector
from forehear.design.design import Design
from forehear.design.geometry import beyond_room, in_mm, inside_cabinet, room_words
from forehear.design.solids import Box, box_of_cabinet, box_of_reflector, distance_m, overlap_m
from forehear.ground.reading.sections import Gathered

TOUCH_M = 1e-3  # cabinets that touch, and cabinets on boards: positions are rounded
HEAD_M = 0.1  # the ears are this far inside a head with its hair
SEEN_M = 0.1  # a face nearer to a wall than this is turned the wrong way
SIDES = (SURFACES[0:2], SURFACES[2:4], SURFACES[4:6])  # low and high of x, y, z
OPPOSITE = {"front wall": "rear wall", "rear wall": "front wall", "left wall": "right wall"}
OPPOSITE |= {"right wall": "left wall", "floor": "up", "ceiling": "down"}


def complain_about_crowding(design: Design, gathered: Gathered) -> None:
    """Complain about cabinets in each other, and about reflectors and boards that go through something."""
    for one, other in itertools.combinations(design.placements, 2):
        _cabinets(design, one, other, gathered)
    for reflector in design.brief.reflectors:
        if _inside(reflector, design.brief, gathered):
            _turned_away(reflector, design.brief, gathered)
            _floating(reflector, design.brief, gathered)
            _through(design, reflector, f"the reflector {reflector.name!r}", design.own_placements, gathered)
    for placement in design.own_placements:
        others = [other for other in design.own_placements if other is not placement]
        for board in boards_of(design, placement):
            _through(design, board, f"the {board.name}", others, gathered)


def _cabinets(design: Design, one: Placement, other: Placement, gathered: Gathered) -> None:
    apart_m = math.dist(one.position_m, other.position_m)
    own = [placement for placement in (one, other) if placement.design_path is None]
    if len(own) == 2:
        deep_m = overlap_m(*(box_of_cabinet(design.cabinet, placement) for placement in own))
        words, cure = f" by {in_mm(deep_m)}", f"move them at least {in_mm(deep_m)} further apart"
        overlaps = deep_m > TOUCH_M
    else:  # how large the other design is, its own file says
        strange = other if own and own[0] is one else one
        words, cure = "", "move one of them"
        overlaps = bool(own) and inside_cabinet(design, own[0], np.array(strange.position_m))
    if overlaps:
        gathered.add(
            f"the cabinets at {one.name!r} and {other.name!r} overlap{words}; "
            f"the middles of their fronts are {in_mm(apart_m)} apart",
            other.where,
            cure,
        )


def _inside(reflector: Reflector, brief: Brief, gathered: Gathered) -> bool:
    corners = box_of_reflector(reflector).corners_m()
    beyond = next((words for corner in corners if (words := beyond_room(corner, brief.room_m))), "")
    if beyond:
        gathered.add(
            f"the reflector {reflector.name!r} leaves the room ({beyond})",
            reflector.where,
            f"move or shorten it; middle is its middle, and the room is {room_words(brief.room_m)}",
        )
    return not beyond


def _turned_away(reflector: Reflector, brief: Brief, gathered: Gathered) -> None:
    """Complain about a face with nothing but a wall before it."""
    axis = int(np.abs(reflector.normal).argmax())
    low, high = (away_m for _, _, away_m in _sides(reflector, brief, axis))
    forward = reflector.normal[axis] > 0
    before_m, behind_m = (high, low) if forward else (low, high)
    if before_m < min(SEEN_M - ROUNDING_M, behind_m):
        faced = SIDES[axis][forward]
        gathered.add(
            f"the reflector {reflector.name!r} faces the {faced}, only {in_mm(before_m)} before it",
            reflector.where,
            f"write faces: {OPPOSITE[faced]}",
        )


def _floating(reflector: Reflector, brief: Brief, gathered: Gathered) -> None:
    """Complain about a rectangle that touches nothing and does not say what holds it."""
    gaps = {side: gap for axis in range(3) for side, gap, _ in _sides(reflector, brief, axis)}
    nearest = min(gaps, key=lambda side: gaps[side])
    if reflector.held_by is None and gaps[nearest] > TOUCHING_M + ROUNDING_M:
        gathered.add(
            f"the reflector {reflector.name!r} floats: the nearest side of the room, the {nearest}, is "
            f"{in_mm(gaps[nearest])} away, and what touches is within {in_mm(TOUCHING_M)}",
            reflector.where,
            "write 'held by: floor' where it has legs, or name what else holds it; otherwise move it there",
        )


def _sides(reflector: Reflector, brief: Brief, axis: int) -> Iterator[tuple[str, float, float]]:
    """Give both sides of the room along one axis, how far the nearest point is, and how far the middle."""
    half_m = float(box_of_reflector(reflector).half_m[axis])
    middle_m, size_m = reflector.middle_m[axis], brief.room_m[axis]
    low, high = SIDES[axis]
    yield low, middle_m - half_m, middle_m
    yield high, size_m - middle_m - half_m, size_m - middle_m


def _through(
    design: Design, board: Reflector, name: str, placements: Iterable[Placement], gathered: Gathered
) -> None:
    box: Box = box_of_reflector(board)
    for seat in design.brief.seats:
        near_m = distance_m(box, np.array(seat.position_m))
        if near_m < HEAD_M:
            gathered.add(
                f"{name} goes through the head at the seat {seat.name!r}, {in_mm(near_m)} from the ears",
                board.where,
                f"move one of them; {in_mm(HEAD_M)} is the least",
            )
    for placement in placements:
        deep_m = overlap_m(box, box_of_cabinet(design.cabinet, placement))
        if deep_m > TOUCH_M:
            gathered.add(
                f"{name} cuts {in_mm(deep_m)} into the cabinet at {placement.name!r}",
                board.where,
                f"move one of them by {in_mm(deep_m)} or more",
            )
