"""What a prediction holds; `forehear.spine.export` writes the same as JSON."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from forehear.design import Change, Design
from forehear.ground.arrays import ComplexArray, FloatArray, locked
from forehear.ground.axes import FrequencyGrid
from forehear.ground.findings import Finding
from forehear.ground.levels import pressure_level_db
from forehear.judge import (
    Beamwidth,
    Coverage,
    EarSmoothing,
    EnergyDecay,
    Hole,
    Preference,
    StandardCurves,
    beamwidth,
    coverage,
)
from forehear.judge.words import frequency_words


@dataclass(frozen=True, eq=False)
class Orbit:
    """Pressure on one full circle around the speaker, at `forehear.ground.axes.ORBIT_ANGLES_DEG`.

    While a hand moves, a circle out of sight holds the `TENTHS` of them alone, and no beamwidth or coverage.
    """

    pressure_pa_v: ComplexArray  # [angle, frequency] per volt, phases about the middle of the front
    to_reference: Callable[[], ComplexArray]  # [angle, frequency] what turns them to the reference point
    smoothing: EarSmoothing  # through which coverage is judged

    @cached_property
    def energy(self) -> FloatArray:
        """Mean square pressure, [angle, frequency] [Pa2/V2]."""
        energy: FloatArray = np.abs(self.pressure_pa_v) ** 2
        return energy

    @cached_property
    def level_db(self) -> FloatArray:
        """Level, [angle, frequency]."""
        return pressure_level_db(self.pressure_pa_v)

    @cached_property
    def beamwidth(self) -> Beamwidth:
        """Where the level falls 6 dB below on axis, band by band."""
        return beamwidth(self.energy)

    @cached_property
    def coverage(self) -> Coverage:
        """How far off axis the speech range keeps within 6 dB."""
        return coverage(self.energy, self.smoothing)

    @property
    def phase_deg(self) -> FloatArray:
        """Phase about the reference point, [angle, frequency]."""
        turned: FloatArray = np.degrees(np.angle(self.pressure_pa_v * self.to_reference()))
        return turned


@dataclass(frozen=True, eq=False)
class DriverResult:
    """What one driver gets and does, for 2.83 V at the terminals where a level matters."""

    name: str
    way: str
    volts_v: ComplexArray  # [frequency] per volt at the terminals
    excursion_m: FloatArray  # [frequency] peak, at 2.83 V rms at the terminals


@dataclass(frozen=True)
class CauseShare:
    """How many dB of a hole one cause is worth; negative when it fills."""

    cause: str
    share_db: float


@dataclass(frozen=True)
class Fill:
    """How many dB of a direct hole one reflection fills on its own."""

    surface: str
    fill_db: float


@dataclass(frozen=True)
class HoleStory:
    """Why one direct hole is there, and what the room makes of it."""

    hole: Hole
    shares: tuple[CauseShare, ...]
    rest_db: float  # what stays when all causes are removed
    depth_in_room_db: float  # below the in-room trend at the same frequency; 0 when not below
    fills: tuple[Fill, ...]


@dataclass(frozen=True)
class Cure:
    """One change that halves a hole, with what it leaves and what it spoils."""

    doing: str  # "turn the cabinet 12 degrees toward it"
    changes: tuple[Change, ...]  # made in the design file they give the same numbers
    left_db: float
    spoils: tuple[str, ...]

    @property
    def words(self) -> str:
        """Say it in one line."""
        spoilt = "; ".join(self.spoils) if self.spoils else "no seat loses by it"
        return f"{self.doing}: {self.left_db:.1f} dB left there; {spoilt}"


@dataclass(frozen=True, eq=False)
class SpeechResult:
    """How clear speech is at one seat; single numbers of clarity are means of 500 Hz to 4 kHz."""

    c50_db: float
    c50_octave_db: FloatArray  # [octave from 125 Hz]
    u50_db: float  # early speech over late speech and noise
    sti: float
    speech_db_a: float  # at the seat
    noise_db_a: float
    decay: EnergyDecay


ENDS = (0.05, 0.95)


@dataclass(frozen=True)
class Range:
    """Where a number lies with a chance of 90 %."""

    low: float
    high: float

    @classmethod
    def of(cls, drawn: FloatArray) -> "Range":
        """Return the ends between which the next draw lies nine times in ten, whatever the draws are spread like."""
        low, high = np.quantile(drawn, ENDS, method="weibull").tolist()
        return cls(low, high)

    def overlaps(self, other: "Range") -> bool:
        """Tell whether both may hold the same number."""
        return self.low <= other.high and other.low <= self.high


@dataclass(frozen=True)
class Mattering:
    """One thing that is not known exactly, and by how much it alone moves the spread of a seat (rms)."""

    what: str
    moves_db: float


@dataclass(frozen=True, eq=False)
class SeatRanges:
    """How sure the numbers of one seat are.

    `drawn` holds them for many ways in which everything may be otherwise, the same ways at every seat, in the order
    of the ranges; so what is made of several numbers has a range too.
    """

    placement: str
    name: str
    spread_db: Range
    direct_spread_db: Range
    hole_db: Range  # depth of the deepest hole in the room, positive; 0 where there is none
    direct_hole_db: Range
    c50_db: Range
    u50_db: Range
    sti: Range
    drawn: FloatArray  # [number, draw]
    mattering: tuple[Mattering, ...]  # each alone, what moves the spread most first

    def __post_init__(self) -> None:
        locked(self, "drawn", (len(RANGED), -1), "numbers x draws")

    def drawn_of(self, number: str) -> FloatArray:
        """Return one of the numbers `RANGED` in every draw."""
        values: FloatArray = self.drawn[RANGED.index(number)]
        return values

    @property
    def matters_most(self) -> str:
        """Say what makes the spread unsure; a few draws do not tell what is nearly alike apart."""
        most = max((one.moves_db for one in self.mattering), default=0.0)
        if most == 0:
            return "nothing"
        named = [one.what for one in self.mattering if one.moves_db >= NEARLY_ALIKE * most]
        return named[0] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"


RANGED = ("spread_db", "direct_spread_db", "hole_db", "direct_hole_db", "c50_db", "u50_db", "sti")
NEARLY_ALIKE = 0.8  # eight draws know a standard deviation within a quarter


@dataclass(frozen=True, eq=False)
class DirectResult:
    """What reaches one seat straight from one placement. Levels are for 2.83 V, at the seat's own distance."""

    placement: str
    name: str
    azimuth_deg: float  # positive toward the listener's right
    elevation_deg: float
    distance_m: float
    direct_db: FloatArray  # [frequency] mean power in each band
    direct_smoothed_db: FloatArray  # [frequency] ear-smoothed
    direct_trend_db: FloatArray  # [frequency] on axis at the same distance, ear-smoothed
    direct_spread_db: float
    direct_holes: tuple[Hole, ...]  # deepest first

    @property
    def direct_hole(self) -> Hole | None:
        """The deepest one."""
        return self.direct_holes[0] if self.direct_holes else None


@dataclass(frozen=True, eq=False)
class SeatResult(DirectResult):
    """All that one seat hears of one placement."""

    in_room_db: FloatArray  # [frequency] direct sound and all reflections
    in_room_smoothed_db: FloatArray  # [frequency] ear-smoothed
    in_room_trend_db: FloatArray  # [frequency] straight line in log f
    spread_db: float
    hole: Hole | None
    holes: tuple[Hole, ...]  # in the room, deepest first
    stories: tuple[HoleStory, ...]  # of the deepest direct holes, deepest first
    speech: SpeechResult | None = None  # None until asked for
    ranges: SeatRanges | None = None  # None until asked for
    cure: Cure | None = None  # of the deepest hole in the room; None also when there is no hole


@dataclass(frozen=True, eq=False)
class Turning:
    """What every seat hears when each speaker is turned from how it stands, counter-clockwise seen from above."""

    turn_deg: FloatArray  # [turn]
    spread_db: FloatArray  # [seat, turn]
    direct_spread_db: FloatArray  # [seat, turn]
    c50_db: FloatArray  # [seat, turn]


@dataclass(frozen=True)
class RoomChange:
    """One change of the room or of where the speaker stands, and the spread it gives every seat."""

    doing: str
    spread_db: tuple[float, ...]  # [seat]
    gained_db: float  # what the mean over seats falls by


@dataclass(frozen=True, eq=False)
class RoomStory:
    """What the room does to one design; seats in the order of the prediction."""

    turning: Turning
    treated: tuple[RoomChange, ...]  # one a surface, that which matters most first
    moved: tuple[RoomChange, ...]  # the most helpful first
    head_moved_db: FloatArray  # [seat] the largest spread within a hand's breadth of where the head is


@dataclass(frozen=True, eq=False)
class Playing:
    """One placement as every seat hears it in the room, 2.83 V."""

    placement: str
    title: str
    smoothed_db: FloatArray  # [seat, frequency] ear-smoothed
    level_db: FloatArray  # [seat] mean from 300 Hz to 3 kHz
    bass_hz: FloatArray  # [seat] lowest frequency that is still within 6 dB of it, third-octave means
    spread_db: FloatArray  # [seat]


@dataclass(frozen=True)
class Fit:
    """How far one placement is from the mean of others, at one seat."""

    placement: str
    others: tuple[str, ...]
    seat: str
    louder_db: float
    timbre_db: float  # rms of the difference once levels are alike, 200 Hz to 10 kHz
    bass_octaves: float  # how much deeper the others reach; negative: less deep


@dataclass(frozen=True, eq=False)
class Together:
    """All placements of a brief playing."""

    seats: tuple[str, ...]
    each: tuple[Playing, ...]
    sum_db: FloatArray  # [seat, frequency] ear-smoothed, all playing programmes that have nothing in common
    sum_spread_db: FloatArray  # [seat]
    fits: tuple[Fit, ...]  # of the centre, or of every placement against the rest where none is called so


@dataclass(frozen=True)
class RuleOfThumb:
    """A rule of the trade with the exact answer beside it."""

    what: str  # "beaming of the woofer left, ka = 2"
    rule: str
    exact: str


@dataclass(frozen=True)
class SolvedBand:
    """Which solver says what the speaker sends around in one band of frequencies."""

    from_hz: float
    to_hz: float
    solver: str  # "reference", "instant", or "reference and instant" where one hands over to the other


@dataclass(frozen=True, eq=False)
class Trace:
    """Where a prediction comes from."""

    design_hash: str
    solver: str  # the best that had a part in it: "reference" or "instant"
    versions: dict[str, str]
    estimated: tuple[str, ...]
    seconds: float
    bands: tuple[SolvedBand, ...] = ()  # the lowest first; none: one solver for all

    @property
    def solver_words(self) -> str:
        """Say which solver holds where."""
        if len(self.bands) < 2:
            return f"{self.solver} solver"
        first, last = self.bands[0], self.bands[-1]
        return (
            f"{first.solver} to {frequency_words(first.to_hz)}, "
            f"{last.solver} from {frequency_words(last.from_hz)}"
        )


@dataclass(frozen=True, eq=False)
class Prediction:
    """Everything forehear says about one design."""

    design: Design
    grid: FrequencyGrid
    curves: StandardCurves
    sound_power_sphere_db: FloatArray  # [frequency]
    horizontal: Orbit
    vertical: Orbit
    impedance_ohm: ComplexArray  # [frequency]
    drivers: tuple[DriverResult, ...]
    seats: tuple[SeatResult, ...]
    spread_among_seats_db: float
    bass_limit_hz: float  # where the sound power falls 6 dB below the mean listening window
    preference: Preference
    crossings_hz: tuple[float | None, ...]  # between each way and the next, on axis
    price: float | None  # drivers and network, in the brief's currency
    rules: tuple[RuleOfThumb, ...]
    findings: tuple[Finding, ...]
    together: Together | None  # None where one speaker alone stands in the room
    room: RoomStory | None  # None unless asked for: it takes as long as all the rest
    trace: Trace
