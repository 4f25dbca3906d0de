"""The boards of a shelf or niche a speaker stands in, and complaints about how it stands or hangs.

Boards lie along the axes of the room, with the wall that is behind the speaker, also where the cabinet is turned a
little: the way it faces is taken to the nearest quarter of a circle.
"""

import math
from dataclasses import dataclass

import numpy as np

from forehear.design.brief import Placement, Point, Reflector
from forehear.design.design import Design
from forehear.design.geometry import beyond_room, cabinet_corners_m, in_mm, room_words
from forehear.design.solids import box_of_reflector
from forehear.ground.arrays import FloatArray
from forehear.ground.reading.sections import Gathered

BOARD_ABSORPTION = (0.05,) * 8  # painted or veneered board, estimated
TOUCHING_M = 0.05  # farther from a wall than this nothing is held by it
HUNG_WITHIN_M = 0.005  # positions are written to the centimetre
ROUNDING_M = 1e-4
WALLS = {(1, 0): "front wall", (-1, 0): "rear wall", (0, 1): "left wall", (0, -1): "right wall"}


@dataclass(frozen=True, eq=False)
class Footing:
    """A cabinet as the boards around it see it.

    `forward` and `across` are room axes; `along_m` and `across_m` are the least and greatest corner of the cabinet
    along them, `height_m` those of z, and `front_m` the middle of its front along `forward`.
    """

    forward: FloatArray
    across: FloatArray
    along_m: tuple[float, float]
    across_m: tuple[float, float]
    height_m: tuple[float, float]
    front_m: float

    @property
    def wall_behind(self) -> str:
        """The wall that the cabinet has behind it."""
        x, y = (round(float(value)) for value in self.forward[:2])
        return WALLS[x, y]

    def behind_m(self, along_m: float, room_m: Point) -> float:
        """Return how far a place along `forward` is from the wall behind."""
        size_m = float(np.abs(self.forward) @ np.array(room_m))
        return along_m if self.forward.sum() > 0 else size_m + along_m


def footing_of(design: Design, placement: Placement) -> Footing:
    """Return where the cabinet of a design is, as boards around it see it."""
    quarter = round(placement.turn_rad / (math.pi / 2)) * math.pi / 2
    forward = np.round([math.cos(quarter), math.sin(quarter), 0.0])
    across = np.abs(forward[[1, 0, 2]])
    corners = cabinet_corners_m(design, placement)
    along, sideways, up = corners @ forward, corners @ across, corners[:, 2]
    return Footing(
        forward,
        across,
        (float(along.min()), float(along.max())),
        (float(sideways.min()), float(sideways.max())),
        (float(up.min()), float(up.max())),
        float(forward @ np.array(placement.position_m)),
    )


def boards_of(design: Design, placement: Placement) -> tuple[Reflector, ...]:
    """Return the boards of the shelf or niche that a placement of the design itself stands on or in.

    None where another design stands: its own file says how large it is. The board below lies under the lowest corner
    of the cabinet. A shelf ends where it meets a side wall; a niche
    goes on as told.
    """
    standing = placement.standing
    if standing.kind not in ("shelf", "niche") or placement.design_path is not None:
        return ()
    footing = footing_of(design, placement)
    middle = sum(footing.across_m) / 2
    left, right = middle - standing.width_m / 2, middle + standing.width_m / 2
    if standing.kind == "shelf":
        side_m = float(footing.across @ np.array(design.brief.room_m))
        left, right = max(left, 0.0), min(right, side_m)
    below = footing.height_m[0]
    frame = _Frame(footing, placement, (left, right), (below, below + standing.height_m))
    if standing.kind == "shelf":
        return (frame.lying("board", below, 1.0),)
    low, high = ("left", "right") if footing.across[1] else ("front", "rear")
    return (
        frame.lying("bottom", below, 1.0),
        frame.lying("top", below + standing.height_m, -1.0),
        frame.upright(f"side toward the {low} wall", left, 1.0),
        frame.upright(f"side toward the {high} wall", right, -1.0),
        frame.back("back"),
    )


@dataclass(frozen=True, eq=False)
class _Frame:
    """Where the boards of one placement run."""

    footing: Footing
    placement: Placement
    across_m: tuple[float, float]
    height_m: tuple[float, float]

    @property
    def _along_m(self) -> tuple[float, float]:
        front = self.footing.front_m + self.placement.standing.set_back_m
        return front - self.placement.standing.depth_m, front

    def lying(self, name: str, up_m: float, faces: float) -> Reflector:
        wide, deep = _length(self.across_m), _length(self._along_m)
        sizes = (wide, deep) if abs(self.footing.forward[0]) > 0 else (deep, wide)
        return self._board(name, (_mid(self._along_m), _mid(self.across_m), up_m), (0.0, 0.0, faces), sizes)

    def upright(self, name: str, across_m: float, faces: float) -> Reflector:
        at = (_mid(self._along_m), across_m, _mid(self.height_m))
        return self._board(name, at, (0.0, faces, 0.0), (_length(self._along_m), _length(self.height_m)))

    def back(self, name: str) -> Reflector:
        at = (self._along_m[0], _mid(self.across_m), _mid(self.height_m))
        return self._board(name, at, (1.0, 0.0, 0.0), (_length(self.across_m), _length(self.height_m)))

    def _board(self, name: str, at: Point, faces: Point, sizes_m: tuple[float, float]) -> Reflector:
        """Turn a board from (along, across, up) to the axes of the room."""
        axes = np.column_stack([self.footing.forward, self.footing.across, [0.0, 0.0, 1.0]])
        standing = self.placement.standing
        return Reflector(
            f"{name} of the {standing.kind} at {self.placement.name!r}",
            _point(axes @ np.array(at)),
            _point(axes @ np.array(faces)),
            *sizes_m,
            BOARD_ABSORPTION,
            standing.where or self.placement.where,
        )


def complain_about_standing(design: Design, gathered: Gathered) -> None:
    """Complain about shelves and niches too small, floating or through a wall, and about gaps that are not so."""
    for placement in design.own_placements:
        footing = footing_of(design, placement)
        if placement.standing.kind == "wall":
            _hung(design, placement, footing, gathered)
        elif placement.standing.kind != "stand":
            _too_small(placement, footing, gathered)
            _held(design, placement, footing, gathered)


def _too_small(placement: Placement, footing: Footing, gathered: Gathered) -> None:
    standing = placement.standing
    back_m = footing.front_m + standing.set_back_m - footing.along_m[0]
    wanted = [("width", standing.width_m, _length(footing.across_m)), ("depth", standing.depth_m, back_m)]
    if standing.kind == "niche":
        wanted.append(("height", standing.height_m, _length(footing.height_m)))
    for name, size_m, needed_m in wanted:
        if size_m < needed_m - ROUNDING_M:
            behind = f" set back {in_mm(standing.set_back_m)}" if name == "depth" else ""
            gathered.add(
                f"the {standing.kind} at {placement.name!r} has a {name} of {in_mm(size_m)}, "
                f"the cabinet{behind} needs {in_mm(needed_m)}",
                standing.where,
                f"write {name}: {math.ceil(needed_m * 1e3 - 0.1)} mm or more",
            )


def _held(design: Design, placement: Placement, footing: Footing, gathered: Gathered) -> None:
    standing, room_m = placement.standing, design.brief.room_m
    corners = np.vstack([box_of_reflector(board).corners_m() for board in boards_of(design, placement)])
    beyond = next((words for corner in corners if (words := beyond_room(corner, room_m))), "")
    if beyond:
        gathered.add(
            f"the {standing.kind} at {placement.name!r} goes through the side of the room ({beyond})",
            standing.where,
            f"make it smaller or move the speaker; the room is {room_words(room_m)}",
        )
        return
    behind_m = footing.behind_m(footing.front_m + standing.set_back_m - standing.depth_m, room_m)
    if standing.kind == "shelf" and standing.held_by is None and behind_m > TOUCHING_M + ROUNDING_M:
        gathered.add(
            f"the shelf at {placement.name!r} floats: its back edge is {in_mm(behind_m)} from the "
            f"{footing.wall_behind}, a shelf that the wall holds is within {in_mm(TOUCHING_M)}",
            standing.where,
            "write 'held by: floor' where it is a sideboard or a rack; otherwise move it to the wall",
        )


def _hung(design: Design, placement: Placement, footing: Footing, gathered: Gathered) -> None:
    gap_m, standing = footing.behind_m(footing.along_m[0], design.brief.room_m), placement.standing
    if gap_m < -ROUNDING_M or abs(gap_m - standing.gap_m) <= HUNG_WITHIN_M:
        return  # through the wall: said already
    axis = int(np.abs(footing.forward).argmax())
    front_m = placement.position_m[axis] + float(footing.forward[axis]) * (standing.gap_m - gap_m)
    gathered.add(
        f"the speaker at {placement.name!r} hangs {in_mm(gap_m)} from the {footing.wall_behind}, "
        f"its gap is {in_mm(standing.gap_m)}",
        standing.where,
        f"put the middle of its front at {'xy'[axis]} = {front_m:.3f} m, or write gap: {gap_m * 1e3:.0f} mm",
    )


def _mid(ends_m: tuple[float, float]) -> float:
    return (ends_m[0] + ends_m[1]) / 2


def _length(ends_m: tuple[float, float]) -> float:
    return ends_m[1] - ends_m[0]


def _point(values: FloatArray) -> Point:
    x, y, z = (float(value) + 0.0 for value in values)
    return x, y, z
