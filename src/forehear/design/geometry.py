"""What cannot be built or cannot stand: circles that overlap or leave the front, seats out of the room."""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from forehear.design.brief import Placement
from forehear.design.design import Design, VentedBox
from forehear.ground.arrays import FloatArray
from forehear.ground.reading.nodes import Key
from forehear.ground.reading.sections import Gathered

SLACK_M = 5e-5  # rounding of the last printed digit of a size in mm


@dataclass(frozen=True)
class Circle:
    """A driver frame or a port on the front."""

    name: str
    centre_m: tuple[float, float]
    radius_m: float
    keys: tuple[Key, ...]


def front_circles(design: Design) -> tuple[Circle, ...]:
    """Return everything round on the front."""
    drivers = [
        Circle(driver.name, driver.centre_m, driver.part.overall_radius_m, ("drivers", driver.name, "centre"))
        for driver in design.drivers
    ]
    ports = [
        Circle(
            f"port of {way.name}",
            way.enclosure.port_centre_m,
            way.enclosure.port_radius_m,
            ("ways", way.name, "enclosure", "vented", "port centre"),
        )
        for way in design.ways
        if isinstance(way.enclosure, VentedBox)
    ]
    return (*drivers, *ports)


def complain_about_front(design: Design, gathered: Gathered) -> None:
    """Complain about circles that overlap or leave the front, and about walls thicker than the cabinet."""
    circles = front_circles(design)
    for circle in circles:
        _inside_front(circle, design, gathered)
    for one, other in itertools.combinations(circles, 2):
        overlap_m = one.radius_m + other.radius_m - math.dist(one.centre_m, other.centre_m)
        if overlap_m > SLACK_M:
            gathered.add(
                f"{one.name} and {other.name} overlap by {in_mm(overlap_m)}",
                design.where(*other.keys),
                f"move them at least {in_mm(overlap_m)} further apart",
            )
    cabinet = design.cabinet
    smallest_m = min(cabinet.width_m, cabinet.height_m, cabinet.depth_m)
    for name, size_m in (("wall", cabinet.wall_m), ("edge radius", cabinet.edge_radius_m)):
        if 2 * size_m >= smallest_m:
            gathered.add(
                f"{name} of {in_mm(size_m)} leaves nothing of a cabinet of {in_mm(smallest_m)}",
                design.where("cabinet", name),
                f"write less than {in_mm(smallest_m / 2)}",
            )


def _inside_front(circle: Circle, design: Design, gathered: Gathered) -> None:
    for position_m, size_m, axis in (
        (circle.centre_m[0], design.cabinet.width_m, "across"),
        (circle.centre_m[1], design.cabinet.height_m, "up"),
    ):
        beyond_m = abs(position_m) + circle.radius_m - size_m / 2
        if beyond_m <= SLACK_M:
            continue
        room_m = size_m / 2 - circle.radius_m
        if room_m >= 0:
            cure = f"keep {axis} between {in_mm(-room_m)} and {in_mm(room_m)}"
        else:
            cure = f"it needs a front of {in_mm(2 * circle.radius_m)}; this one is {in_mm(size_m)}"
        gathered.add(
            f"{circle.name} leaves the front by {in_mm(beyond_m)} ({axis})", design.where(*circle.keys), cure
        )


def complain_about_room(design: Design, gathered: Gathered) -> None:
    """Complain about seats and speakers outside the room, and seats inside a cabinet."""
    brief = design.brief
    for seat in brief.seats:
        beyond = beyond_room(np.array(seat.position_m), brief.room_m)
        if beyond:
            gathered.add(
                f"the seat {seat.name!r} is outside the room ({beyond})",
                brief.where("seats", seat.name, "position"),
                f"the room is {room_words(brief.room_m)}",
            )
    for placement in design.placements:
        _standing(design, placement, gathered)


def _standing(design: Design, placement: Placement, gathered: Gathered) -> None:
    brief = design.brief
    own = placement.design_path is None
    points = cabinet_corners_m(design, placement) if own else np.array([placement.position_m])
    beyond = next((words for point in points if (words := beyond_room(point, brief.room_m))), "")
    if beyond:
        gathered.add(
            f"the speaker at {placement.name!r} does not fit inside the room ({beyond})",
            placement.where,
            f"the room is {room_words(brief.room_m)}; position is the middle of the front panel",
        )
    elif own:
        for seat in brief.seats:
            if inside_cabinet(design, placement, np.array(seat.position_m)):
                gathered.add(
                    f"the seat {seat.name!r} is inside the cabinet at {placement.name!r}",
                    brief.where("seats", seat.name, "position"),
                    "move the seat or the speaker",
                )


def beyond_room(point_m: FloatArray, room_m: tuple[float, float, float]) -> str:
    """Say where a point leaves the room; empty when it does not."""
    return next(_beyond(point_m, room_m), "")


def _beyond(point_m: FloatArray, room_m: tuple[float, float, float]) -> Iterator[str]:
    for name, value, size in zip("xyz", point_m, room_m, strict=True):
        if value < -SLACK_M:
            yield f"{name} is {-value:.2f} m below 0"
        elif value > size + SLACK_M:
            yield f"{name} is {value - size:.2f} m beyond {size:g} m"


def speaker_axes(placement: Placement) -> FloatArray:
    """Return the matrix that takes speaker axes (x out of the front, y across, z up) to room axes."""
    ct, st = math.cos(placement.turn_rad), math.sin(placement.turn_rad)
    cu, su = math.cos(placement.tilt_rad), math.sin(placement.tilt_rad)
    turn = np.array([[ct, -st, 0.0], [st, ct, 0.0], [0.0, 0.0, 1.0]])
    tilt = np.array([[cu, 0.0, -su], [0.0, 1.0, 0.0], [su, 0.0, cu]])
    matrix: FloatArray = turn @ tilt
    return matrix


def from_front_m(placement: Placement, point_m: FloatArray) -> FloatArray:
    """Return a point of the room as seen from the middle of the front, in speaker axes."""
    seen: FloatArray = (point_m - np.array(placement.position_m)) @ speaker_axes(placement)
    return seen


def cabinet_corners_m(design: Design, placement: Placement) -> FloatArray:
    """Return the eight corners of the cabinet in room axes, [corner, 3]."""
    cabinet = design.cabinet
    half_width, half_height = cabinet.width_m / 2, cabinet.height_m / 2
    corners = np.array(
        list(
            itertools.product((0.0, -cabinet.depth_m), (-half_width, half_width), (-half_height, half_height))
        )
    )
    placed: FloatArray = np.array(placement.position_m) + corners @ speaker_axes(placement).T
    return placed


def inside_cabinet(design: Design, placement: Placement, point_m: FloatArray) -> bool:
    """Tell whether a point of the room lies inside the cabinet."""
    x, y, z = from_front_m(placement, point_m)
    cabinet = design.cabinet
    return bool(
        -cabinet.depth_m <= x <= 0 and abs(y) <= cabinet.width_m / 2 and abs(z) <= cabinet.height_m / 2
    )


def in_mm(length_m: float) -> str:
    """Write a length in millimetres."""
    return f"{length_m * 1e3:.1f} mm"


def room_words(size_m: tuple[float, float, float]) -> str:
    """Write the sizes of a room."""
    return " x ".join(f"{side:g} m" for side in size_m)
