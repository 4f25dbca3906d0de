"""A brief in SI: the room, who sits where, where speakers stand, what is played, what is asked for. Read-only."""

from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal, TypeAlias

from forehear.ground.air import Air
from forehear.ground.arrays import FloatArray, locked
from forehear.ground.reading.documents import Document
from forehear.ground.reading.nodes import Key
from forehear.parts import Stock

SURFACES = ("front wall", "rear wall", "left wall", "right wall", "floor", "ceiling")
NORMAL_SPEECH_DB_A = 60.0  # 1 m before the mouth; ANSI S3.5 and IEC 60268-16 for a normal voice, from memory
Point: TypeAlias = tuple[float, float, float]


@dataclass(frozen=True)
class Room:
    """The shoebox.

    `size_m` is length (x), width (y), height (z); `decay_time_s` the time of 60 dB of decay to which the
    absorption is to be calibrated, in the octaves 63 Hz to 8 kHz, or None where the surfaces are taken as told;
    `scattering` the share of the reflected sound that goes elsewhere than a mirror would send it, None where the
    brief leaves it.
    """

    size_m: Point
    decay_time_s: tuple[float, ...] | None = None
    scattering: tuple[float, ...] | None = None


@dataclass(frozen=True)
class Seat:
    """Where a pair of ears is, in room axes."""

    name: str
    position_m: Point


@dataclass(frozen=True)
class Standing:
    """What a speaker stands on or hangs from, beyond the room itself.

    "stand" adds nothing; "shelf" is a board below; "niche" has boards below, above, on both sides and behind;
    "wall" is a cabinet hung on the wall behind it. `width_m`, `height_m` and `depth_m` are the inside of the
    shelf or niche, `set_back_m` runs from the front edge of its boards back to the front of the cabinet, `gap_m`
    from the cabinet to the wall it hangs on. What a kind does not have is 0.
    """

    kind: Literal["stand", "shelf", "niche", "wall"] = "stand"
    depth_m: float = 0.0
    width_m: float = 0.0
    height_m: float = 0.0
    set_back_m: float = 0.0
    gap_m: float = 0.0
    held_by: str | None = None  # the surface of the room that a shelf stands on; None: the wall behind it
    where: str = field(default="", compare=False)


@dataclass(frozen=True)
class Placement:
    """One speaker in the room.

    `position_m` is the middle of the front panel in room axes; `turn_rad` counter-clockwise seen from above,
    0 faces along x; `tilt_rad` up. `design_path` is None where the design itself stands.
    """

    name: str
    position_m: Point
    turn_rad: float
    tilt_rad: float
    design_path: Path | None
    where: str
    standing: Standing = Standing()


@dataclass(frozen=True)
class Reflector:
    """A reflecting rectangle with its edges along the axes of the room.

    `normal` is the way it faces. `width_m` runs horizontally and `height_m` up; of a horizontal one `width_m`
    runs along y and `height_m` along x. `absorption` holds the octaves 63 Hz to 8 kHz.
    """

    name: str
    middle_m: Point
    normal: Point
    width_m: float
    height_m: float
    absorption: tuple[float, ...]
    where: str
    held_by: str | None = None  # the surface of the room that holds it; None: one that it touches


@dataclass(frozen=True)
class Programme:
    """What is played and what disturbs it.

    `speech_level_db_a` is A-weighted, at 1 m; `noise_level_db` holds the octaves 125 Hz to 8 kHz, or one
    A-weighted level, None where no noise is stated; `other_speakers_db` is the level of what the other placements
    play, relative to speech, None where they are silent.
    """

    speech_level_db_a: float = NORMAL_SPEECH_DB_A
    noise_level_db: float | tuple[float, ...] | None = None
    other_speakers_db: float | None = None


@dataclass(frozen=True)
class Uncertainty:
    """How well the brief and the parts are known: half widths of what may be otherwise."""

    acoustic_depth_m: float = 0.003
    driver_spread_db: float = 0.5
    absorption_share: float = 0.2
    position_m: float = 0.05


@dataclass(frozen=True)
class Voicing:
    """What a network is to be found for; None where the brief says nothing.

    The four first ones are weights. `covered_rad` is how far to either side speech is to be covered, `lowest_level_db`
    the mean level on axis to keep, `voltage_v` the noise at which drivers may just reach their limits; `values` names
    the series of values to choose from where `stock` holds no part of a kind.
    """

    seats: float = 1.0
    on_axis: float = 0.25
    listening_window: float = 0.25
    speech_coverage: float = 0.25
    covered_rad: float = 0.6981317
    lowest_level_db: float | None = None
    most_parts: int | None = None
    most_cost: float | None = None
    voltage_v: float | None = None
    values: str = "E24"
    stock: Stock | None = None
    pairs: bool = False
    largest_film_f: float = 47e-6


@dataclass(frozen=True)
class Goals:
    """What the brief asks for; None where it asks nothing."""

    main_seats: tuple[str, ...] = ()
    lowest_impedance_ohm: float | None = None
    budget: float | None = None
    largest_size_m: tuple[float | None, float | None, float | None] = (
        None,
        None,
        None,
    )  # width, height, depth
    in_room_slope_db_per_octave: float | None = None
    voicing: Voicing = Voicing()


@dataclass(frozen=True, eq=False)
class Brief:
    """Room, seats, goals.

    Attributes
    ----------
    absorption
        [surface, octave], surfaces as in `SURFACES`, octaves 63 Hz to 8 kHz; 1 where a side is open.
    placements
        As the brief has them; `Design.placements` holds those in force.
    estimated
        What the brief leaves to the library of surfaces, in words.
    """

    title: str
    path: Path
    document: Document
    room: Room
    air: Air
    absorption: FloatArray
    seats: tuple[Seat, ...]
    placements: tuple[Placement, ...]
    reflectors: tuple[Reflector, ...]
    programme: Programme
    uncertainty: Uncertainty
    goals: Goals
    currency: str
    printer_m: Point | None  # width, depth, height of the largest print
    estimated: tuple[str, ...]

    def __post_init__(self) -> None:
        locked(self, "absorption", (len(SURFACES), -1), "surface x octave")

    @property
    def room_m(self) -> Point:
        """Length (x), width (y), height (z) of the room."""
        return self.room.size_m

    def where(self, *keys: Key) -> str:
        """Return "file:line:column  key > key" of a value of the brief."""
        return self.document.where(keys)
