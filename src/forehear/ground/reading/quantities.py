"""Quantities as people write them ("3.3 uF"), read strictly into SI and written back.

A number, one space, a unit. Scaling is done in decimal, so "0.1 mm" is the float nearest to 0.0001. What is
not understood is refused with the text that would be right; nothing is guessed.
"""

import math
import re
from dataclasses import dataclass
from decimal import Decimal

NUMBER = r"[+-]?\d{1,15}(?:\.\d{1,15})?(?:[eE][+-]?\d{1,2})?"
_WELL_FORMED = re.compile(rf"({NUMBER}) (\S.*)")
_BARE_NUMBER = re.compile(NUMBER)
_COMMA = re.compile(r"([+-]?\d+),(\d+)(.*)", re.DOTALL)
_TOUCHING = re.compile(rf"({NUMBER})\s*([^\d\s.].*)")


class UnreadableQuantity(ValueError):
    """A quantity that cannot be read: what is wrong with it, and the text that would be right."""

    def __init__(self, what: str, cure: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.cure = cure


@dataclass(frozen=True)
class Measure:
    """A kind of quantity: its name, an example, and the power of ten that brings each unit to SI."""

    name: str
    example: str
    units: tuple[tuple[str, int], ...]

    def power_of(self, unit: str) -> int | None:
        """Return the power of ten of `unit`, or None when this kind does not know it."""
        return dict(self.units).get(unit)

    @property
    def article(self) -> str:
        """The name with its article, for sentences."""
        return f"{'an' if self.name[0] in 'aeiou' else 'a'} {self.name}"


LENGTH = Measure("length", "180 mm", (("mm", -3), ("cm", -2), ("m", 0), ("um", -6)))
AREA = Measure("area", "133 cm2", (("cm2", -4), ("mm2", -6), ("m2", 0), ("cm²", -4)))
VOLUME = Measure("volume", "14 l", (("l", -3), ("ml", -6), ("m3", 0), ("cm3", -6), ("dm3", -3), ("L", -3)))
MASS = Measure("mass", "12 g", (("g", -3), ("mg", -6), ("kg", 0)))
CAPACITANCE = Measure(
    "capacitance",
    "3.3 uF",
    (("uF", -6), ("nF", -9), ("pF", -12), ("mF", -3), ("F", 0), ("\u00b5F", -6), ("\u03bcF", -6)),
)
INDUCTANCE = Measure(
    "inductance", "0.47 mH", (("mH", -3), ("uH", -6), ("H", 0), ("\u00b5H", -6), ("\u03bcH", -6))
)
RESISTANCE = Measure(
    "resistance",
    "6.2 ohm",  # U+03A9 is the Greek letter, U+2126 the old sign; keyboards give either
    (("ohm", 0), ("mohm", -3), ("kohm", 3), ("\u03a9", 0), ("\u2126", 0), ("m\u03a9", -3), ("k\u03a9", 3)),
)
FREQUENCY = Measure("frequency", "2.7 kHz", (("Hz", 0), ("kHz", 3)))
COMPLIANCE = Measure("compliance", "1.1 mm/N", (("mm/N", -3), ("um/N", -6), ("m/N", 0), ("\u00b5m/N", -6)))
MECHANICAL_RESISTANCE = Measure(
    "mechanical resistance", "0.95 kg/s", (("kg/s", 0), ("g/s", -3), ("N s/m", 0), ("Ns/m", 0))
)
FORCE_FACTOR = Measure("force factor", "6.5 N/A", (("N/A", 0), ("T m", 0), ("Tm", 0)))
VOLTAGE = Measure("voltage", "2.83 V", (("V", 0), ("mV", -3)))
POWER = Measure("power", "60 W", (("W", 0), ("mW", -3), ("kW", 3)))
LEVEL = Measure("level", "85 dB", (("dB", 0),))
SLOPE = Measure("slope", "-0.8 dB/octave", (("dB/octave", 0), ("dB per octave", 0), ("dB", 0)))
TIME = Measure("time", "0.45 s", (("s", 0), ("ms", -3)))
PRESSURE = Measure("pressure", "101.3 kPa", (("kPa", 3), ("hPa", 2), ("Pa", 0), ("mbar", 2)))
SHARE = Measure("share", "50 %", (("%", -2),))
TEMPERATURE = Measure("temperature", "20 C", (("C", 0), ("°C", 0)))
ANGLE = Measure("angle", "40 deg", (("deg", 0), ("°", 0)))  # read into radians

MEASURES = (
    LENGTH, AREA, VOLUME, MASS, CAPACITANCE, INDUCTANCE, RESISTANCE, FREQUENCY, COMPLIANCE,
    MECHANICAL_RESISTANCE, FORCE_FACTOR, VOLTAGE, POWER, LEVEL, SLOPE, TIME, PRESSURE,
    SHARE, TEMPERATURE, ANGLE,
)  # fmt: skip
_ORDINARY = {unit: measure for measure in reversed(MEASURES) for unit, _ in measure.units}


def read_quantity(text: object, measure: Measure) -> float:
    """Read "number unit" into SI; an angle into radians.

    Parameters
    ----------
    text
        What stands in the file.
    measure
        The kind of quantity that belongs there.

    Returns
    -------
    float
        The value in SI units.

    Raises
    ------
    UnreadableQuantity
        With what is wrong and the text that would be right.

    Examples
    --------
    >>> read_quantity("3.3 uF", CAPACITANCE)
    3.3e-06
    >>> read_quantity("0.47 mh", INDUCTANCE)
    Traceback (most recent call last):
    ...
    forehear.ground.reading.quantities.UnreadableQuantity: 'mh' in '0.47 mh' is not a unit; 'mH' is
    """
    if not isinstance(text, str):
        raise _not_text(text, measure)
    match = _WELL_FORMED.fullmatch(text.strip())
    power = measure.power_of(match[2]) if match else None
    if match is None or power is None:
        raise _explain(text.strip(), measure)
    value = float(Decimal(match[1]).scaleb(power))
    return math.radians(value) if measure is ANGLE else value


def write_quantity(value_si: float, unit: str, *, digits: int = 6) -> str:
    """Write an SI value in `unit`, to at most `digits` significant digits and without needless zeros.

    Examples
    --------
    >>> write_quantity(0.18, "mm"), write_quantity(3.3e-6, "uF"), write_quantity(math.pi / 4, "deg")
    ('180 mm', '3.3 uF', '45 deg')
    """
    measure = _ORDINARY.get(unit)
    if measure is None:
        raise ValueError(f"{unit!r} is not a unit known here")
    if not math.isfinite(value_si):
        raise ValueError(f"{value_si} cannot be written as a quantity")
    shown = math.degrees(value_si) if measure is ANGLE else value_si
    scaled = Decimal(repr(float(shown))).scaleb(-(measure.power_of(unit) or 0))
    rounded = Decimal(f"{scaled:.{digits - 1}e}")
    plain = f"{rounded:f}"
    if "." in plain:
        plain = plain.rstrip("0").rstrip(".")
    return f"{'0' if plain in ('-0', '') else plain} {unit}"


def _not_text(found: object, measure: Measure) -> UnreadableQuantity:
    if isinstance(found, bool | type(None)) or not isinstance(found, int | float):
        shown = "nothing" if found is None else _kind_in_words(found)
        return UnreadableQuantity(
            f"{measure.article} is wanted here, found {shown}",
            f"write a number, a space and a unit, such as {measure.example}",
        )
    unit = measure.units[0][0]
    if not math.isfinite(found):
        return UnreadableQuantity(
            f"{found} is not {measure.article}", f"write a number and a unit, such as {measure.example}"
        )
    return UnreadableQuantity(f"{found} has no unit", f"write {found} {unit}, if {unit} is what you mean")


def _kind_in_words(found: object) -> str:
    words = {bool: "a yes or no", dict: "a group of keys", list: "a list"}
    return next((word for kind, word in words.items() if isinstance(found, kind)), "something else")


def _explain(text: str, measure: Measure) -> UnreadableQuantity:
    """Say what is wrong with `text`; the order runs from the likeliest slip to the least."""
    shown = text if len(text) <= 40 else text[:37] + "..."
    comma = _COMMA.fullmatch(text)
    if comma:
        return UnreadableQuantity(
            f"{shown!r} has a decimal comma", f"write a decimal point: {comma[1]}.{comma[2]}{comma[3]}"[:80]
        )
    if _BARE_NUMBER.fullmatch(text):
        unit = measure.units[0][0]
        return UnreadableQuantity(
            f"{shown!r} has no unit", f"write {shown} {unit}, if {unit} is what you mean"
        )
    parts = _TOUCHING.fullmatch(text)
    if not parts:
        return UnreadableQuantity(
            f"{shown!r} is not {measure.article}",
            f"write a number, a space and a unit, such as {measure.example}",
        )
    number, unit = parts[1], parts[2].strip()
    if measure.power_of(unit) is not None:
        return UnreadableQuantity(
            f"{shown!r} needs one space between number and unit", f"write {number} {unit}"
        )
    return _wrong_unit(shown, number, unit, measure)


def _wrong_unit(shown: str, number: str, unit: str, measure: Measure) -> UnreadableQuantity:
    right_case = next((known for known, _ in measure.units if known.lower() == unit.lower()), None)
    if right_case:
        return UnreadableQuantity(
            f"{unit!r} in {shown!r} is not a unit; {right_case!r} is", f"write {number} {right_case}"
        )
    other = _ORDINARY.get(unit)
    if other:
        return UnreadableQuantity(
            f"{shown!r} is {other.article}, but {measure.article} is wanted here",
            f"write {measure.article}, such as {measure.example}",
        )
    known = ", ".join(name for name, _ in measure.units if name.isascii())
    return UnreadableQuantity(
        f"{unit!r} in {shown!r} is not a unit of {measure.name} known here",
        f"use one of {known}; for example {measure.example}",
    )
