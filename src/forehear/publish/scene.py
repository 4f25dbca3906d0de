"""What the pictures need of a design: plain names and places."""

from collections.abc import Iterator
from dataclasses import dataclass

from forehear.design import Design, Placement, Reflector, Seat, boards_of
from forehear.publish.words import frequency, number, quantity
from forehear.spine.prediction import Prediction
from forehear.spine.translate import QUIET_ROOM_DB_A

OTHER_SIZE_M = (0.3, 0.3)  # drawn for a speaker of another design


@dataclass(frozen=True)
class StandingSpeaker:
    """A speaker in the room, seen from above."""

    name: str
    x_m: float  # the middle of its front
    y_m: float
    turn_rad: float
    width_m: float
    depth_m: float
    own: bool  # the candidate itself; another design is drawn in a broken line, its size unknown here


@dataclass(frozen=True)
class StandingSeat:
    """A seat in the room, seen from above, with what is heard there."""

    name: str
    x_m: float
    y_m: float
    spread_db: float
    hole: str  # empty when there is none


@dataclass(frozen=True)
class StandingBoard:
    """A reflecting rectangle, or the boards around a speaker, seen from above; upright ones are thin."""

    name: str  # empty where another board of the same shelf or niche is named already
    x_m: tuple[float, float]
    y_m: tuple[float, float]


@dataclass(frozen=True)
class RoomScene:
    """The room from above."""

    length_m: float
    width_m: float
    speakers: tuple[StandingSpeaker, ...]
    seats: tuple[StandingSeat, ...]
    boards: tuple[StandingBoard, ...] = ()


def candidate_names(predictions: tuple[Prediction, ...]) -> tuple[str, ...]:
    """Return the titles of the candidates, told apart where two are called the same."""
    names: list[str] = []
    for prediction in predictions:
        title = prediction.design.title
        same = sum(other.design.title == title for other in predictions[: len(names)])
        names.append(f"{title} ({same + 1})" if same else title)
    return tuple(names)


def brief_title(design: Design) -> str:
    """Return what the brief is called."""
    return design.brief.title


def brief_words(design: Design) -> str:
    """Return the brief in one line: the room, the seats, what is asked for."""
    brief, goals = design.brief, design.brief.goals
    told = [f"Room {_by(brief.room_m)} m, {len(brief.seats)} {'seat' if len(brief.seats) == 1 else 'seats'}"]
    if goals.main_seats and len(goals.main_seats) < len(brief.seats):
        told.append(f"above all {', '.join(goals.main_seats)}")
    if goals.lowest_impedance_ohm is not None:
        told.append(f"impedance not below {quantity(goals.lowest_impedance_ohm, 'ohm', 1)}")
    if goals.budget is not None:
        told.append(f"at most {quantity(goals.budget, design.brief.currency)}")
    if any(goals.largest_size_m):
        words = ("wide", "high", "deep")
        sizes = zip(goals.largest_size_m, words, strict=True)
        told.append(
            "no more than " + ", ".join(f"{1000 * size:.0f} mm {word}" for size, word in sizes if size)
        )
    if goals.in_room_slope_db_per_octave is not None:
        told.append(f"in-room slope {quantity(goals.in_room_slope_db_per_octave, 'dB', 1)} per octave")
    return "; ".join(told) + "."


def programme_words(design: Design) -> str:
    """Return what is played and what is heard besides, in one line."""
    asked = design.brief.programme
    told = [f"speech of {quantity(asked.speech_level_db_a, 'dB(A)')} at 1 m straight ahead"]
    told.append(
        f"noise of a quiet room, {quantity(QUIET_ROOM_DB_A, 'dB(A)')}, for the brief states none"
        if asked.noise_level_db is None
        else "noise as the brief states it"
    )
    if asked.other_speakers_db is not None:
        told.append(f"the other speakers at {quantity(asked.other_speakers_db, 'dB')} re the speech")
    return "; ".join(told)


def _by(sizes_m: tuple[float, ...]) -> str:
    return " × ".join(f"{size:g}" for size in sizes_m)


def room_scene(prediction: Prediction) -> RoomScene:
    """Return the room from above and what each seat hears; of several speakers the least even."""
    design = prediction.design
    length, width, _ = design.brief.room_m
    seated = (_seated(seat, prediction) for seat in design.brief.seats)
    return RoomScene(
        length,
        width,
        tuple(_standing(placement, design) for placement in design.placements),
        tuple(seat for seat in seated if seat is not None),
        tuple(_boards(design)),
    )


def _boards(design: Design) -> Iterator[StandingBoard]:
    for reflector in design.brief.reflectors:
        yield _board(reflector, reflector.name)
    for placement in design.placements:
        for index, board in enumerate(boards_of(design, placement)):
            yield _board(board, "" if index else placement.standing.kind)


def _board(reflector: Reflector, name: str) -> StandingBoard:
    """Take the outline of a rectangle; its width runs horizontally, of a lying one along y."""
    x, y, _ = reflector.middle_m
    facing = [abs(way) > 0.5 for way in reflector.normal]
    along_x = reflector.height_m if facing[2] else 0.0 if facing[0] else reflector.width_m
    along_y = 0.0 if facing[1] else reflector.width_m
    return StandingBoard(name, (x - along_x / 2, x + along_x / 2), (y - along_y / 2, y + along_y / 2))


def _standing(placement: Placement, design: Design) -> StandingSpeaker:
    x, y, _ = placement.position_m
    own = placement.design_path is None
    width, depth = (design.cabinet.width_m, design.cabinet.depth_m) if own else OTHER_SIZE_M
    return StandingSpeaker(placement.name, x, y, placement.turn_rad, width, depth, own)


def _seated(seat: Seat, prediction: Prediction) -> StandingSeat | None:
    heard = [result for result in prediction.seats if result.name == seat.name]
    if not heard:
        return None
    holes = [result.hole for result in heard if result.hole is not None]
    deepest = max(holes, key=lambda hole: hole.depth_db, default=None)
    words = "" if deepest is None else f"{number(-deepest.depth_db)} dB\n{frequency(deepest.frequency_hz)}"
    x, y, _ = seat.position_m
    return StandingSeat(seat.name, x, y, max(result.spread_db for result in heard), words)


def rated_impedance_ohm(design: Design) -> float | None:
    """Return what the speaker's impedance is rated at, if the design says so."""
    return design.rated_impedance_ohm
