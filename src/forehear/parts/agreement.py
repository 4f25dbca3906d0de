"""Does the data of a driver hold together? Each number a data sheet prints follows from others it prints."""

import math
from collections.abc import Iterator

from forehear.ground.findings import Finding, Level
from forehear.ground.reading.nodes import Key
from forehear.parts.driver import DATA_SHEET_AIR, DriverPart

# How far printed numbers may part before it is worth a look: rounding to two digits costs up to 5 %; Vas and
# Bl come from a second measurement. Common practice, no source.
Q_TOLERANCE = 0.05
RESONANCE_TOLERANCE = 0.05
VAS_TOLERANCE = 0.10
BL_TOLERANCE = 0.07
SENSITIVITY_TOLERANCE_DB = 1.5
_STIFFNESS_PA = DATA_SHEET_AIR.density_kg_m3 * DATA_SHEET_AIR.sound_speed_m_s**2


def check_driver(part: DriverPart) -> tuple[Finding, ...]:
    """Hold the printed numbers of a driver against each other."""
    return (*_checks(part), *_sensitivity(part), *_impedance(part))


def _checks(part: DriverPart) -> Iterator[Finding]:
    given = part.file.thiele_small
    if given.qts and given.qms and given.qes:
        follows = given.qms * given.qes / (given.qms + given.qes)
        yield from _apart(part, "Qts", (given.qts, follows), "Qms and Qes", Q_TOLERANCE)
    if given.fs_hz and given.mms_kg and given.cms_m_n:
        follows = 1 / (2 * math.pi * math.sqrt(given.mms_kg * given.cms_m_n))
        yield from _apart(part, "fs", (given.fs_hz, follows), "Mms and Cms", RESONANCE_TOLERANCE, "Hz")
    if given.vas_m3 and given.cms_m_n:
        follows = _STIFFNESS_PA * given.sd_m2**2 * given.cms_m_n
        yield from _apart(part, "Vas", (1e3 * given.vas_m3, 1e3 * follows), "Cms and Sd", VAS_TOLERANCE, "l")
    if given.bl_n_a and given.qes and given.mms_kg and given.fs_hz:
        follows = 2 * math.pi * given.fs_hz * given.mms_kg * given.re_ohm / given.bl_n_a**2
        yield from _apart(part, "Qes", (given.qes, follows), "fs, Mms, Re and Bl", 2 * BL_TOLERANCE)
    elif given.bl_n_a:
        yield from _apart(
            part, "Bl", (given.bl_n_a, part.constants.bl_n_a), "the other parameters", BL_TOLERANCE, "N/A"
        )
    if given.rms_kg_s and given.qms and given.mms_kg and given.fs_hz:
        follows = 2 * math.pi * given.fs_hz * given.mms_kg / given.rms_kg_s
        yield from _apart(part, "Qms", (given.qms, follows), "fs, Mms and Rms", VAS_TOLERANCE)


def _apart(
    part: DriverPart, name: str, numbers: tuple[float, float], source: str, tolerance: float, unit: str = ""
) -> Iterator[Finding]:
    printed, follows = numbers
    if abs(printed / follows - 1) <= tolerance:
        return
    space = f" {unit}" if unit else ""
    yield _finding(
        part,
        "part-data-disagrees",
        f"{part.name}: {name} is printed as {printed:.3g}{space}, "
        f"but {follows:.3g}{space} follows from {source}.",
        ("thiele-small", name),
    )


def _sensitivity(part: DriverPart) -> Iterator[Finding]:
    printed = part.file.sensitivity
    if printed is None:
        return
    at_volts, at_watt = part.small_signal.sensitivity_2v83_db, part.small_signal.sensitivity_1w_db
    follows, other = (at_volts, at_watt) if printed.at == "2.83 V" else (at_watt, at_volts)
    if abs(printed.level - follows) <= SENSITIVITY_TOLERANCE_DB:
        return
    other_name = "1 W" if printed.at == "2.83 V" else "2.83 V"
    yield _finding(
        part,
        "sensitivity-disagrees",
        f"{part.name}: {printed.level:.1f} dB at {printed.at} is printed, but {follows:.1f} dB follows from "
        f"the Thiele-Small parameters in half space ({other:.1f} dB at {other_name}).",
        ("sensitivity", "level"),
    )


def _impedance(part: DriverPart) -> Iterator[Finding]:
    if part.impedance is not None:
        lowest = float(part.impedance.value.min())
        if lowest < 0.9 * part.constants.re_ohm:
            yield _finding(
                part,
                "impedance-below-re",
                f"{part.name}: the measured impedance falls to {lowest:.2f} ohm, "
                f"below Re of {part.constants.re_ohm:.2f} ohm.",
                ("impedance", "file"),
            )


def _finding(part: DriverPart, code: str, what: str, keys: tuple[Key, ...]) -> Finding:
    return Finding(
        Level.CHECK, code, what, where=part.where(*keys), cure="check the data sheet, or measure the driver"
    )
