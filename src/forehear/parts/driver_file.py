"""What a driver file holds, key by key."""

from typing import Annotated

from pydantic import Field

from forehear.ground.reading.sections import ReadsNumber, ReadsText, Section
from forehear.parts import units as u

KINDS = ("cone", "dome")
MOUNTINGS = ("large baffle", "standard baffle", "own cabinet", "near field")


class Origin(Section):
    """Where the data come from, and of which day."""

    source: u.Text
    date: u.Text | None = None


class ThieleSmall(Section):
    """Thiele-Small parameters; enough of them to fix the rest, any more are checked."""

    re_ohm: u.Resistance = Field(alias="Re")
    fs_hz: u.Frequency | None = Field(None, alias="fs")
    qms: u.AboveZero | None = Field(None, alias="Qms")
    qes: u.AboveZero | None = Field(None, alias="Qes")
    qts: u.AboveZero | None = Field(None, alias="Qts")
    vas_m3: u.Volume | None = Field(None, alias="Vas")
    sd_m2: u.Area = Field(alias="Sd")
    xmax_m: u.Size | None = Field(None, alias="Xmax")
    bl_n_a: u.ForceFactor | None = Field(None, alias="Bl")
    mms_kg: u.Mass | None = Field(None, alias="Mms")
    cms_m_n: u.Compliance | None = Field(None, alias="Cms")
    rms_kg_s: u.MechanicalResistance | None = Field(None, alias="Rms")


class VoiceCoilFile(Section):
    """Le alone; or Le, L2 and R2; or K and n of the semi-inductance K (j omega)^n."""

    le_h: u.InductanceOrZero | None = Field(None, alias="Le")
    l2_h: u.Inductance | None = Field(None, alias="L2")
    r2_ohm: u.Resistance | None = Field(None, alias="R2")
    k: u.AboveZero | None = Field(None, alias="K")
    n: Annotated[float, ReadsNumber(least=0.0, most=1.0)] | None = None


class DriverSize(Section):
    """Outlines of the driver; diameters of the frame, the hole it needs and the magnet."""

    overall_diameter: u.Size
    cutout_diameter: u.Size | None = None
    magnet_diameter: u.Size | None = None
    depth: u.Size | None = None
    dome_height: u.SizeOrZero | None = None


class PrintedSensitivity(Section):
    """A sensitivity as printed, and the voltage or power it is printed for."""

    level: u.LevelDb
    at: Annotated[str, ReadsText(choices=("2.83 V", "1 W"))]


class PowerRating(Section):
    """Power the driver takes for long."""

    long_term: u.Power


class BaffleSize(Section):
    """A rectangular baffle, and where on it the driver sat ([across, up] from its middle)."""

    width: u.Size
    height: u.Size
    centre: tuple[u.Position, u.Position] | None = None


class CabinetSize(Section):
    """The cabinet of a measurement, and where on its front the driver sat ([across, up] from its middle)."""

    width: u.Size
    height: u.Size
    depth: u.Size
    centre: tuple[u.Position, u.Position] | None = None


class ResponseFile(Section):
    """A measured response and how it was measured."""

    file: u.Text
    mounted: Annotated[str, ReadsText(choices=MOUNTINGS)]
    baffle: BaffleSize | None = None
    cabinet: CabinetSize | None = None
    closed: u.Volume | None = None
    distance: u.Size
    voltage: u.Voltage
    angle: u.Angle = 0.0


class ImpedanceFile(Section):
    """A measured impedance of the driver in free air: magnitude and phase."""

    file: u.Text


class DriverFile(Section):
    """One driver."""

    driver: u.Text
    kind: Annotated[str, ReadsText(choices=KINDS)]
    data: Origin
    thiele_small: ThieleSmall = Field(alias="thiele-small")
    voice_coil: VoiceCoilFile | None = None
    size: DriverSize
    rated_impedance: u.Resistance | None = None
    sensitivity: PrintedSensitivity | None = None
    power: PowerRating | None = None
    price: u.Price | None = None
    response: ResponseFile | None = None
    impedance: ImpedanceFile | None = None
