"""One driver in SI, complete: what its file says, what follows from it, and what had to be estimated."""

import math
import posixpath
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType

import numpy as np

from forehear.ground.air import Air
from forehear.ground.errors import DataError, DesignError
from forehear.ground.reading.curves import Curve, curve_from_text, read_curve
from forehear.ground.reading.documents import Document, raise_together
from forehear.ground.reading.naming import named_file
from forehear.ground.reading.nodes import Key
from forehear.ground.reading.sections import Gathered, validate
from forehear.ground.thiele_small import (
    MechanicalConstants,
    Resonance,
    SmallSignal,
    mechanical_from_small_signal,
    small_signal_from_mechanical,
)
from forehear.parts.driver_file import DriverFile, ResponseFile, ThieleSmall, VoiceCoilFile

DATA_SHEET_AIR = Air()  # the air of data sheets: 20 C, 101.325 kPa
SPEECH_ENDS_HZ = 5_000.0
NO_CURVES: Mapping[str, str] = MappingProxyType({})


@dataclass(frozen=True)
class VoiceCoil:
    """What the voice coil adds to Re.

    Either K (j omega)^n, where `k` is given; or Le and L2 parallel to R2, where `l2_h` is given; or Le alone.
    """

    le_h: float = 0.0
    l2_h: float | None = None
    r2_ohm: float | None = None
    k: float | None = None
    n: float | None = None


@dataclass(frozen=True, eq=False)
class MeasuredResponse:
    """A measured response and how it was measured.

    Attributes
    ----------
    curve
        Level [dB re 20 uPa] as measured, phase [deg] or None.
    mounted
        "large baffle", "standard baffle", "own cabinet" or "near field".
    front_m
        Width and height of the baffle or cabinet front, or None. [m]
    depth_m
        Depth of the cabinet it was measured in, or None. [m]
    centre_m
        Where on that front the driver sat, (across, up) from the middle. [m]
    closed_m3
        Volume of closed air behind the driver, or None. [m3]
    """

    curve: Curve
    mounted: str
    front_m: tuple[float, float] | None
    depth_m: float | None
    centre_m: tuple[float, float]
    closed_m3: float | None
    distance_m: float
    voltage_v: float
    angle_rad: float


@dataclass(frozen=True, eq=False)
class DriverPart:
    """One driver, in SI.

    Attributes
    ----------
    constants
        The complete mechanical set: Re, Bl, Mms, Cms, Rms, Sd.
    small_signal
        The same driver as fs, Qms, Qes, Qts, Vas and the sensitivities that follow.
    estimated
        What the file leaves out and what is taken instead, in words.
    """

    name: str
    kind: str  # "cone" or "dome"
    file: DriverFile
    document: Document
    constants: MechanicalConstants
    small_signal: SmallSignal
    voice_coil: VoiceCoil
    response: MeasuredResponse | None
    impedance: Curve | None
    estimated: tuple[str, ...]

    @property
    def diaphragm_radius_m(self) -> float:
        """Radius of a disc of area Sd."""
        return math.sqrt(self.constants.sd_m2 / math.pi)

    @property
    def overall_radius_m(self) -> float:
        """Half the diameter of the frame."""
        return self.file.size.overall_diameter / 2

    @property
    def dome_height_m(self) -> float:
        """Height of the dome; 0 for a cone."""
        height = self.file.size.dome_height
        return 0.0 if self.kind == "cone" else (height or 0.0)

    @property
    def depth_m(self) -> float | None:
        """Depth behind the front panel."""
        return self.file.size.depth

    @property
    def xmax_m(self) -> float | None:
        """Largest linear excursion, one way."""
        return self.file.thiele_small.xmax_m

    @property
    def rated_impedance_ohm(self) -> float | None:
        """Impedance the maker prints."""
        return self.file.rated_impedance

    @property
    def price(self) -> float | None:
        """Price of one, in the currency of the brief."""
        return self.file.price

    def where(self, *keys: Key) -> str:
        """Return "file:line:column  key > key" of a value."""
        return self.document.where(keys)


def load_driver(path: Path, label: str | None = None) -> DriverPart:
    """Read a driver file with the curves it names.

    Raises
    ------
    DesignError, DataError, Complaints
        Whatever is wrong, all at once.
    """
    document = Document.read(path, label)
    return driver_from(document)


def driver_from(document: Document, curves: Mapping[str, str] = NO_CURVES) -> DriverPart:
    """Make a driver from a document already read; `curves`, text by name in the folder, need no file yet."""
    file = validate(DriverFile, document.plain(), document)
    gathered = Gathered()
    constants = gathered.attempt(lambda: complete_set(file.thiele_small, document))
    coil = gathered.attempt(lambda: _voice_coil(file.voice_coil, document))
    response = gathered.attempt(lambda: _response(file.response, document, curves))
    impedance = gathered.attempt(lambda: _impedance(file, document, curves))
    if constants and response:
        gathered.attempt(lambda: _response_reaches(response, constants))
    if constants and impedance:
        gathered.attempt(lambda: _usable_impedance(impedance, constants))
    raise_together(gathered.errors)
    assert constants is not None  # otherwise a complaint was raised
    return DriverPart(
        name=file.driver,
        kind=file.kind,
        file=file,
        document=document,
        constants=constants,
        small_signal=small_signal_from_mechanical(constants, DATA_SHEET_AIR),
        voice_coil=coil or VoiceCoil(),
        response=response,
        impedance=impedance,
        estimated=_estimated(file, response),
    )


def complete_set(given: ThieleSmall, document: Document) -> MechanicalConstants:
    """Fix the mechanical set from any parameters that suffice.

    The resonance, its Qs and Vas are what is measured and what shapes the bass, so they lead; Bl, Mms, Cms
    and Rms stand in where one of them is missing.

    Source
    ------
    small-1972-direct, sec. 2: the definitions of the parameters, solved for what is missing.
    """
    known = {name: value for name, value in given if value is not None and name != "xmax_m"}
    while True:
        found = next(
            (
                (target, rule(known))
                for target, needs, rule in _RULES
                if target not in known and all(need in known for need in needs)
            ),
            None,
        )
        if found is None:
            break
        known[found[0]] = found[1]
        if not (math.isfinite(found[1]) and 0 < found[1] < 1e6):
            raise DesignError(
                f"the Thiele-Small parameters contradict: {_PRINTED[found[0]]} would be {found[1]:.3g}",
                where=document.where(("thiele-small",)),
                cure="Qts must be below Qms and below Qes; check the printed values",
            )
    missing = [_PRINTED[name] for name in ("fs_hz", "qms", "qes", "vas_m3") if name not in known]
    if missing:
        raise DesignError(
            f"the Thiele-Small parameters do not fix {', '.join(missing)}",
            where=document.where(("thiele-small",)),
            cure="give fs, Qms, Qes and Vas, or Bl, Mms, Cms and Rms, beside Re and Sd",
        )
    resonance = Resonance(known["fs_hz"], known["qms"], known["qes"])
    return mechanical_from_small_signal(
        resonance, known["vas_m3"], known["re_ohm"], known["sd_m2"], DATA_SHEET_AIR
    )


_PRINTED = {name: field.alias or name for name, field in ThieleSmall.model_fields.items()}
_STIFFNESS_PA = DATA_SHEET_AIR.density_kg_m3 * DATA_SHEET_AIR.sound_speed_m_s**2
Known = dict[str, float]


def _omega(known: Known) -> float:
    return 2 * math.pi * known["fs_hz"]


_RULES: tuple[tuple[str, tuple[str, ...], Callable[[Known], float]], ...] = (
    ("qes", ("qts", "qms"), lambda k: 1 / _difference(1 / k["qts"], 1 / k["qms"])),
    ("qms", ("qts", "qes"), lambda k: 1 / _difference(1 / k["qts"], 1 / k["qes"])),
    ("cms_m_n", ("vas_m3", "sd_m2"), lambda k: k["vas_m3"] / (_STIFFNESS_PA * k["sd_m2"] ** 2)),
    ("fs_hz", ("mms_kg", "cms_m_n"), lambda k: 1 / (2 * math.pi * math.sqrt(k["mms_kg"] * k["cms_m_n"]))),
    ("cms_m_n", ("fs_hz", "mms_kg"), lambda k: 1 / (_omega(k) ** 2 * k["mms_kg"])),
    ("mms_kg", ("fs_hz", "cms_m_n"), lambda k: 1 / (_omega(k) ** 2 * k["cms_m_n"])),
    ("vas_m3", ("cms_m_n", "sd_m2"), lambda k: _STIFFNESS_PA * k["sd_m2"] ** 2 * k["cms_m_n"]),
    (
        "qes",
        ("fs_hz", "mms_kg", "bl_n_a", "re_ohm"),
        lambda k: _omega(k) * k["mms_kg"] * k["re_ohm"] / k["bl_n_a"] ** 2,
    ),
    ("qms", ("fs_hz", "mms_kg", "rms_kg_s"), lambda k: _omega(k) * k["mms_kg"] / k["rms_kg_s"]),
    (
        "mms_kg",
        ("fs_hz", "qes", "bl_n_a", "re_ohm"),
        lambda k: k["qes"] * k["bl_n_a"] ** 2 / (_omega(k) * k["re_ohm"]),
    ),
    ("mms_kg", ("fs_hz", "qms", "rms_kg_s"), lambda k: k["qms"] * k["rms_kg_s"] / _omega(k)),
)


def _difference(whole: float, part: float) -> float:
    return whole - part if whole != part else math.nan


def _voice_coil(file: VoiceCoilFile | None, document: Document) -> VoiceCoil:
    if file is None:
        return VoiceCoil()
    where = document.where(("voice coil",))
    semi, eddy = (file.k, file.n), (file.l2_h, file.r2_ohm)
    inductive = (file.le_h, *eddy)
    if any(value is not None for value in semi):
        if None in semi or any(value is not None for value in inductive):
            raise DesignError(
                "K and n belong together, without Le",
                where=where,
                cure="write {K: 0.02, n: 0.65} or {Le: 0.35 mH}",
            )
        return VoiceCoil(k=file.k, n=file.n)
    if file.le_h is None or (file.l2_h is None) != (file.r2_ohm is None):
        raise DesignError(
            "the voice coil is not complete", where=where, cure="write Le alone, or Le, L2 and R2, or K and n"
        )
    return VoiceCoil(file.le_h, file.l2_h, file.r2_ohm)


def _response(
    file: ResponseFile | None, document: Document, curves: Mapping[str, str]
) -> MeasuredResponse | None:
    if file is None:
        return None
    keys = ("response",)
    needed = {"standard baffle": "baffle", "own cabinet": "cabinet"}.get(file.mounted)
    if needed and getattr(file, needed) is None:
        raise DesignError(
            f"a response measured in {'an' if needed == 'cabinet' else 'a'} {file.mounted} needs its size",
            where=document.where((*keys, "mounted")),
            cure=f"add {needed}: {{width: ..., height: ...{', depth: ...' if needed == 'cabinet' else ''}}}",
        )
    front = file.cabinet or file.baffle
    return MeasuredResponse(
        curve=_curve(file.file, document, keys, curves),
        mounted=file.mounted,
        front_m=(front.width, front.height) if front else None,
        depth_m=file.cabinet.depth if file.cabinet else None,
        centre_m=(front.centre if front else None) or (0.0, 0.0),
        closed_m3=file.closed,
        distance_m=file.distance,
        voltage_v=file.voltage,
        angle_rad=file.angle,
    )


def _impedance(file: DriverFile, document: Document, curves: Mapping[str, str]) -> Curve | None:
    if file.impedance is None:
        return None
    return _curve(file.impedance.file, document, ("impedance",), curves, above_zero=True)


def _response_reaches(response: MeasuredResponse, constants: MechanicalConstants) -> None:
    """Ask for the band in which a curve says more than the constants do.

    Up to twice the resonance the constants rule, and a gated measurement may begin as high as 500 Hz; above
    ka = 2 only the curve can say what the diaphragm does. The near field tells the motion up to ka = 1, so
    half of that is asked of it. Our choice, no source.
    """
    lowest_hz = max(2 * small_signal_from_mechanical(constants, DATA_SHEET_AIR).fs_hz, 500.0)
    radius_m = math.sqrt(constants.sd_m2 / math.pi)
    ka_is_one_hz = DATA_SHEET_AIR.sound_speed_m_s / (2 * math.pi * radius_m)
    if response.mounted == "near field":
        response.curve.require_cover(min(lowest_hz, ka_is_one_hz / 4), ka_is_one_hz / 2)
    else:
        response.curve.require_cover(min(lowest_hz, ka_is_one_hz), 2 * ka_is_one_hz)


def _usable_impedance(curve: Curve, constants: MechanicalConstants) -> None:
    """Ask for the band from the resonance to the end of the speech range, where the voice coil matters.

    A driver takes power in at every frequency, so its phase stays within 90 degrees.
    """
    lowest_hz = 2 * small_signal_from_mechanical(constants, DATA_SHEET_AIR).fs_hz
    curve.require_cover(min(max(lowest_hz, 200.0), SPEECH_ENDS_HZ), SPEECH_ENDS_HZ)
    if curve.phase_deg is not None and np.abs(curve.phase_deg).max() > 90.0:
        worst = int(np.abs(curve.phase_deg).argmax())
        raise DataError(
            f"an impedance phase of {curve.phase_deg[worst]:.0f} degrees at {curve.frequency_hz[worst]:.4g} Hz "
            "would mean that the driver gives power back",
            where=curve.source,
            cure="check the columns and the wiring of the measurement, or leave the phase out",
        )


def _curve(
    name: str,
    document: Document,
    keys: tuple[Key, ...],
    curves: Mapping[str, str],
    *,
    above_zero: bool = False,
) -> Curve:
    here = posixpath.normpath(posixpath.join(posixpath.dirname(document.label), name))
    if here in curves:
        return curve_from_text(curves[here], here, above_zero=above_zero)
    path, label = named_file(document, name, (*keys, "file"))
    return read_curve(path, label, above_zero=above_zero)


def _estimated(file: DriverFile, response: MeasuredResponse | None) -> tuple[str, ...]:
    found = []
    if file.voice_coil is None and file.impedance is None:
        found.append(f"{file.driver}: voice-coil inductance taken as zero")
    if response is None:
        found.append(f"{file.driver}: no response curve; a rigid piston, estimated above ka = 1")
    elif response.curve.phase_deg is None:
        found.append(f"{file.driver}: phase of the response estimated as minimum phase")
    if file.kind == "dome" and file.size.dome_height is None:
        found.append(f"{file.driver}: dome height not given; a flat piston")
    return tuple(found)
