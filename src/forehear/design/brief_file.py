"""What a brief holds, key by key."""

import math
from typing import Annotated, TypeAlias

from pydantic import Field, StrictBool

from forehear.design.octaves import DecayTime, NoiseLevel, Scattering
from forehear.design.standing_file import HeldBy, StandingChoice, StandingFile
from forehear.design.surfaces import SurfaceOfBoard, SurfaceOfRoom
from forehear.ground.reading import quantities as q
from forehear.ground.reading.sections import Reads, ReadsNumber, ReadsText, Section
from forehear.parts import units as u

FACES = {
    "rear wall": (1.0, 0.0, 0.0),
    "front wall": (-1.0, 0.0, 0.0),
    "right wall": (0.0, 1.0, 0.0),
    "left wall": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}


class RoomFile(Section):
    """A shoebox: length along x, width along y, height."""

    length: u.RoomSize
    width: u.RoomSize
    height: u.RoomSize
    temperature: u.Temperature = 20.0
    humidity: u.Humidity = 0.5
    pressure: u.Pressure = 101_325.0
    decay_time: DecayTime | None = Field(
        None, description="measured or wanted; the absorption is calibrated to it"
    )
    scattering: Scattering | None = Field(
        None, description="share of the reflected sound that goes elsewhere than a mirror would send it"
    )


class SurfacesFile(Section):
    """Absorption of the six surfaces. The front wall is at x = 0, the left wall at y = 0."""

    front_wall: SurfaceOfRoom
    rear_wall: SurfaceOfRoom
    left_wall: SurfaceOfRoom
    right_wall: SurfaceOfRoom
    floor: SurfaceOfRoom
    ceiling: SurfaceOfRoom


class SeatFile(Section):
    """Where a head is: x and y in the room, and the height of the ears."""

    position: tuple[u.Position, u.Position]
    ear_height: u.Size = 1.1


class PlacementFile(Section):
    """Where a speaker stands: the middle of its front panel, and where it aims."""

    position: tuple[u.Position, u.Position, u.Position]
    turn: u.Angle = Field(0.0, description="counter-clockwise seen from above; 0 deg faces along x")
    tilt: u.Angle = Field(0.0, description="up")
    design: u.Text | None = Field(
        None, description="another design that stands here; left out: the one looked at"
    )
    standing: StandingChoice = StandingFile()


class PlacementChange(Section):
    """What a candidate changes about a placement; all of it, for a placement of its own."""

    position: tuple[u.Position, u.Position, u.Position] | None = None
    turn: u.Angle | None = None
    tilt: u.Angle | None = None
    design: u.Text | None = None
    standing: StandingChoice | None = None


class ReflectorFile(Section):
    """A reflecting rectangle near the speakers, its edges along the axes of the room."""

    middle: tuple[u.Position, u.Position, u.Position]
    faces: Annotated[str, ReadsText(choices=tuple(FACES))] = Field(description="the way its surface looks")
    width: u.Size = Field(description="horizontally; of a horizontal one along y")
    height: u.Size = Field(description="of a horizontal one along x")
    absorption: SurfaceOfBoard
    held_by: HeldBy | None = Field(None, description="what holds it, where it touches nothing")


class ProgrammeFile(Section):
    """What is played, and what disturbs it."""

    speech_level: u.LevelDb | None = Field(None, description="A-weighted, at 1 m; 60 dB unless given")
    background_noise: NoiseLevel | None = None
    other_speakers: Annotated[float, Reads(q.LEVEL, least=-60.0, most=20.0)] | None = Field(
        None, description="level of what the other placements play, relative to speech"
    )


class UncertaintyFile(Section):
    """How well the brief and the parts are known: half widths of what may be otherwise."""

    acoustic_depth: Annotated[float, Reads(q.LENGTH, least=0.0, most=0.05)] = 0.003
    driver_spread: Annotated[float, Reads(q.LEVEL, least=0.0, most=6.0)] = 0.5
    absorption: Annotated[float, Reads(q.SHARE, least=0.0, most=1.0)] = 0.2
    position: Annotated[float, Reads(q.LENGTH, least=0.0, most=1.0)] = 0.05


class LargestSize(Section):
    """The largest cabinet that fits."""

    width: u.Size | None = None
    height: u.Size | None = None
    depth: u.Size | None = None


Weight: TypeAlias = Annotated[float, ReadsNumber(least=0.0, most=100.0)]


class VoicingFile(Section):
    """What a network is to be found for: how much each unevenness counts, and what may be used."""

    seats: Weight = Field(1.0, description="weight of the sound in the room at the main seats")
    on_axis: Weight = Field(0.25, description="weight")
    listening_window: Weight = Field(0.25, description="weight")
    speech_coverage: Weight = Field(
        0.25, description="weight of what falls away to the sides, 200 Hz to 5 kHz"
    )
    covered: Annotated[float, Reads(q.ANGLE, least=0.17, most=1.58)] = Field(
        math.radians(40.0), description="to either side; 40 deg unless given"
    )
    lowest_level: u.LevelDb | None = Field(None, description="mean on axis, 300 Hz to 3 kHz, 2.83 V, 1 m")
    most_parts: Annotated[float, ReadsNumber(least=1.0, most=60.0)] | None = None
    most_cost: u.Price | None = Field(None, description="of the network")
    voltage: u.Voltage | None = Field(
        None, description="of programme noise at which drivers may just reach Xmax and rated power"
    )
    values: Annotated[str, ReadsText(choices=("E6", "E12", "E24"))] = "E24"
    stock: u.Text | None = Field(None, description="file of parts to choose from")
    pairs: StrictBool = Field(default=False, description="whether two parts may stand for one")
    largest_film: u.Capacitance = Field(47e-6, description="capacitor that is not electrolytic")


class GoalsFile(Section):
    """What the speaker must do."""

    main_seats: Annotated[list[u.Text], Field(min_length=1)] | None = None
    lowest_impedance: u.Resistance | None = None
    budget: u.Price | None = None
    largest_size: LargestSize | None = None
    speech_level: u.LevelDb | None = Field(None, description="better said under programme")
    in_room_slope: Annotated[float, Reads(q.SLOPE, least=-6.0, most=6.0)] | None = Field(
        None, alias="in-room slope"
    )
    voicing: VoicingFile = VoicingFile.model_validate({})


class PrinterFile(Section):
    """The printer: how large a part it makes."""

    width: u.Size
    depth: u.Size
    height: u.Size
    price_per_kg: Annotated[float, ReadsNumber(least=0.0, most=1e4)] | None = None


class BriefFile(Section):
    """One brief."""

    title: u.Text
    room: RoomFile
    surfaces: SurfacesFile
    seats: Annotated[dict[str, SeatFile], Field(min_length=1)]
    placements: dict[str, PlacementFile] = Field(default_factory=dict)
    reflectors: dict[str, ReflectorFile] = Field(default_factory=dict)
    programme: ProgrammeFile = Field(default=ProgrammeFile.model_validate({}))
    uncertainty: UncertaintyFile = UncertaintyFile()
    goals: GoalsFile = Field(default=GoalsFile.model_validate({}))
    currency: u.Text | None = None
    printer: PrinterFile | None = None
