"""The room from above, to scale: speaker at the top, x downward, y to the right, as a listener sees it."""

import math
from typing import TypeAlias

from forehear.publish.markup import Markup, element, joined, short
from forehear.publish.pictures.colours import SPREAD_STEPS, spread_step
from forehear.publish.pictures.lines import LETTER_PX, picture
from forehear.publish.scene import RoomScene, StandingBoard, StandingSeat, StandingSpeaker
from forehear.publish.words import clipped, number

WIDTH_PX = 380.0
MARGIN_LEFT_PX, MARGIN_TOP_PX, MARGIN_PX = 26.0, 26.0, 12.0
TALLEST_PX = 460.0
SEAT_WIDTH_PX, SEAT_HEIGHT_PX = 40.0, 34.0
LINE_PX = 12.5
THIN_PX = 4.0  # what stands upright is drawn as thick as this
AHEAD_PX = 18.0  # from a front to the words before it
LONGEST_SPEAKER, LONGEST_BOARD = 22, 16

_Box: TypeAlias = tuple[float, float, float, float]  # left, top, right, bottom


def room_plan(title: str, scene: RoomScene) -> Markup:
    """Return the plan of a room with its speakers and what each seat hears."""
    fits_across = (WIDTH_PX - MARGIN_LEFT_PX - MARGIN_PX) / scene.width_m
    px_per_m = min(fits_across, TALLEST_PX / scene.length_m)
    left = MARGIN_LEFT_PX + (fits_across - px_per_m) * scene.width_m / 2
    place = _Place(px_per_m, left, MARGIN_TOP_PX)
    height = scene.length_m * px_per_m
    pieces = [
        _floor(scene, place),
        *(_board(board, place) for board in scene.boards),
        *(_speaker(speaker, place) for speaker in scene.speakers),
        *(_seat(seat, place) for seat in scene.seats),
        *_board_names(scene, place),
    ]
    return picture(title, WIDTH_PX, MARGIN_TOP_PX + height + MARGIN_PX, pieces)


class _Place:
    """Room metres to pixels."""

    def __init__(self, px_per_m: float, left_px: float, top_px: float) -> None:
        self.px_per_m, self.left_px, self.top_px = px_per_m, left_px, top_px

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        return self.left_px + y_m * self.px_per_m, self.top_px + x_m * self.px_per_m


def _floor(scene: RoomScene, place: _Place) -> Markup:
    left, top = place.at(0.0, 0.0)
    right, bottom = place.at(scene.length_m, scene.width_m)
    pieces = []
    for step in range(1, math.ceil(scene.width_m)):
        x, _ = place.at(0.0, float(step))
        pieces.append(element("line", x1=x, x2=x, y1=top, y2=bottom, class_="grid"))
    for step in range(1, math.ceil(scene.length_m)):
        _, y = place.at(float(step), 0.0)
        pieces.append(element("line", x1=left, x2=right, y1=y, y2=y, class_="grid"))
    pieces.append(element("rect", x=left, y=top, width=right - left, height=bottom - top, class_="wall"))
    middle_x, middle_y = (left + right) / 2, (top + bottom) / 2
    wide, long = f"{scene.width_m:g} m", f"{scene.length_m:g} m"
    pieces.append(element("text", wide, x=middle_x, y=top - 9, text_anchor="middle", class_="tick"))
    turned = f"translate({short(left - 10)} {short(middle_y)}) rotate(-90)"
    pieces.append(element("text", long, transform=turned, text_anchor="middle", class_="tick"))
    return joined(pieces)


def _speaker(speaker: StandingSpeaker, place: _Place) -> Markup:
    forward = (math.cos(speaker.turn_rad), math.sin(speaker.turn_rad))  # (x, y) in the room
    aside = (-forward[1], forward[0])
    half = speaker.width_m / 2

    def corner(along_m: float, across_m: float) -> str:
        x, y = place.at(
            speaker.x_m + along_m * forward[0] + across_m * aside[0],
            speaker.y_m + along_m * forward[1] + across_m * aside[1],
        )
        return f"{short(x)},{short(y)}"

    depth = -speaker.depth_m
    outline = " ".join([corner(0, -half), corner(0, half), corner(depth, half), corner(depth, -half)])
    front_x, front_y = place.at(speaker.x_m, speaker.y_m)
    return joined(
        [
            element("polygon", points=outline, class_="cabinet" if speaker.own else "cabinet other"),
            element("polyline", points=f"{corner(0, -half)} {corner(0, half)}", class_="front"),
            element("polyline", points=f"{corner(0, 0)} {corner(0.5, 0)}", class_="aim"),
            element(
                "text",
                clipped(speaker.name, LONGEST_SPEAKER),
                x=front_x + 8,
                y=front_y + AHEAD_PX,
                class_="small halo",
            ),
        ]
    )


def _board(board: StandingBoard, place: _Place) -> Markup:
    """Draw the outline of a board; one that stands upright is a thin bar."""
    left, top, right, bottom = _outline(board, place)
    size = {"width": right - left, "height": bottom - top}
    return element("rect", x=left, y=top, class_="board", **size)


def _outline(board: StandingBoard, place: _Place) -> _Box:
    left, top = place.at(board.x_m[0], board.y_m[0])
    right, bottom = place.at(board.x_m[1], board.y_m[1])
    thin_x, thin_y = (max(THIN_PX - size, 0.0) / 2 for size in (right - left, bottom - top))
    return left - thin_x, top - thin_y, right + thin_x, bottom + thin_y


def _board_names(scene: RoomScene, place: _Place) -> list[Markup]:
    """Write the names of boards beside, below, above or on them, where nothing else is written."""
    left, top = place.at(0.0, 0.0)
    right, bottom = place.at(scene.length_m, scene.width_m)
    taken = [
        *(_speaker_name_box(speaker, place) for speaker in scene.speakers),
        *(_seat_box(seat, place) for seat in scene.seats),
    ]
    pieces = []
    for board in scene.boards:
        if not board.name:
            continue
        name = clipped(board.name, LONGEST_BOARD)
        free = [
            box
            for box in _places_for(LETTER_PX * len(name), _outline(board, place))
            if left <= box[0] and box[2] <= right and top <= box[1] and box[3] <= bottom
            if not any(_overlap(box, other) for other in taken)
        ]
        if free:
            taken.append(free[0])
            x, y = free[0][0], free[0][3] - 3
            pieces.append(element("text", name, x=x, y=y, class_="small halo"))
    return pieces


def _places_for(wide_px: float, around: _Box) -> list[_Box]:
    """Boxes for a word of some width about a rectangle, the best first."""
    left, top, right, bottom = around
    middle_y = (top + bottom) / 2
    starts = [
        (right + 4, middle_y - LINE_PX / 2),
        (left - 4 - wide_px, middle_y - LINE_PX / 2),
        (left, bottom + 2),
        (right - wide_px, bottom + 2),
        (left, top - LINE_PX - 2),
        (right - wide_px, top - LINE_PX - 2),
        (left + 4, middle_y - LINE_PX / 2),
        (left, bottom + LINE_PX + 2),
    ]
    return [(x, y, x + wide_px, y + LINE_PX + 1) for x, y in starts]


def _overlap(one: _Box, other: _Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _speaker_name_box(speaker: StandingSpeaker, place: _Place) -> _Box:
    x, y = place.at(speaker.x_m, speaker.y_m)
    wide = LETTER_PX * len(clipped(speaker.name, LONGEST_SPEAKER))
    return x + 8, y + AHEAD_PX - LINE_PX, x + 8 + wide, y + AHEAD_PX + 3


def _seat_box(seat: StandingSeat, place: _Place) -> _Box:
    x, y = place.at(seat.x_m, seat.y_m)
    lines = [*_wrapped(seat.name), *seat.hole.splitlines()]
    half = max(SEAT_WIDTH_PX, *(LETTER_PX * len(line) for line in lines)) / 2
    bottom = y + SEAT_HEIGHT_PX / 2 + LINE_PX * (len(lines) + 0.3)
    return x - half, y - SEAT_HEIGHT_PX / 2, x + half, bottom


def _seat(seat: StandingSeat, place: _Place) -> Markup:
    x, y = place.at(seat.x_m, seat.y_m)
    step = spread_step(seat.spread_db)
    square = element(
        "rect",
        x=x - SEAT_WIDTH_PX / 2,
        y=y - SEAT_HEIGHT_PX / 2,
        width=SEAT_WIDTH_PX,
        height=SEAT_HEIGHT_PX,
        rx=7.0,
        fill=step.fill,
        class_="seat",
    )
    value = element(
        "text", number(seat.spread_db, 1), x=x, y=y + 5, text_anchor="middle", class_=f"spread {step.ink}"
    )
    under = y + SEAT_HEIGHT_PX / 2 + LINE_PX
    words = [("small", line) for line in _wrapped(seat.name)] + [
        ("hole", line) for line in seat.hole.splitlines()
    ]
    lines = [
        element("text", line, x=x, y=under + LINE_PX * index, text_anchor="middle", class_=f"{look} halo")
        for index, (look, line) in enumerate(words)
    ]
    return joined([square, value, *lines])


def _wrapped(name: str, longest: int = 11) -> list[str]:
    """Break a name into at most two short lines."""
    first, _, rest = name.partition(" ")
    return [clipped(line, longest) for line in (first, rest) if line]


def spread_legend() -> Markup:
    """Tell the five steps of a seat's colour, in words."""
    swatches = [
        element(
            "li",
            element("span", "", class_="swatch", style=f"background:{step.fill}"),
            f"{step.label} dB" if index == 0 else step.label,
        )
        for index, step in enumerate(SPREAD_STEPS)
    ]
    return element("ul", *swatches, class_="legend")
