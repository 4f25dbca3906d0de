"""Quantities: the prefixes of the SI, exact to the last bit; whatever else is refused with a cure."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.reading import quantities as q
from forehear.ground.reading.quantities import MEASURES, UnreadableQuantity, read_quantity, write_quantity

# SI brochure (BIPM, 9th edition), table 7: prefixes; table 8: the litre. From memory.
PREFIXES = {"p": -12, "n": -9, "u": -6, "m": -3, "c": -2, "": 0, "k": 3}


@pytest.mark.parametrize(
    ("text", "measure", "si"),
    [
        ("180 mm", q.LENGTH, 0.18),
        ("3.3 uF", q.CAPACITANCE, 3.3e-6),
        ("3.3 µF", q.CAPACITANCE, 3.3e-6),
        ("0.47 mH", q.INDUCTANCE, 0.47e-3),
        ("2.7 kHz", q.FREQUENCY, 2700.0),
        ("14 l", q.VOLUME, 0.014),
        ("6.2 ohm", q.RESISTANCE, 6.2),
        ("12 g", q.MASS, 0.012),
        ("1.1 mm/N", q.COMPLIANCE, 1.1e-3),
        ("0.95 kg/s", q.MECHANICAL_RESISTANCE, 0.95),
        ("6.5 N/A", q.FORCE_FACTOR, 6.5),
        ("6.5 T m", q.FORCE_FACTOR, 6.5),
        ("133 cm2", q.AREA, 0.0133),
        ("85 dB", q.LEVEL, 85.0),
        ("50 %", q.SHARE, 0.5),
        ("-0.8 dB", q.SLOPE, -0.8),
        ("-0.8 dB/octave", q.SLOPE, -0.8),
        ("180 deg", q.ANGLE, math.pi),
    ],
)
def test_the_units_of_the_trade(text: str, measure: q.Measure, si: float) -> None:
    assert read_quantity(text, measure) == si


@pytest.mark.parametrize(
    ("text", "measure", "words", "cure"),
    [
        ("3,3 uF", q.CAPACITANCE, "decimal comma", "3.3 uF"),
        ("0.47 mh", q.INDUCTANCE, "'mH' is", "0.47 mH"),
        ("2.7 khz", q.FREQUENCY, "'kHz' is", "2.7 kHz"),
        ("180", q.LENGTH, "no unit", "180 mm"),
        (180, q.LENGTH, "no unit", "180 mm"),
        ("3.3uF", q.CAPACITANCE, "space", "3.3 uF"),
        ("180 mm", q.CAPACITANCE, "is a length, but a capacitance is wanted", "3.3 uF"),
        ("3 inch", q.LENGTH, "not a unit of length", "mm"),
        ("nan mm", q.LENGTH, "not a length", "180 mm"),
        (float("nan"), q.LENGTH, "not a length", "180 mm"),
        (None, q.LENGTH, "found nothing", "180 mm"),
        (True, q.LENGTH, "a length is wanted", "180 mm"),
        ({}, q.LENGTH, "a group of keys", "180 mm"),
        ("1e999 m", q.LENGTH, "not a", "180 mm"),
        ("0x10 mm", q.LENGTH, "not a", "mm"),
    ],
)
def test_a_slip_is_named_and_cured(text: object, measure: q.Measure, words: str, cure: str) -> None:
    with pytest.raises(UnreadableQuantity) as caught:
        read_quantity(text, measure)
    assert words in caught.value.what
    assert cure in caught.value.cure


@given(st.decimals(-99999, 99999, places=4, allow_nan=False), st.sampled_from(sorted(PREFIXES)))
def test_scaling_is_exact(number: Decimal, prefix: str) -> None:
    units = [
        (measure, prefix + base)
        for measure, base in ((q.LENGTH, "m"), (q.CAPACITANCE, "F"), (q.INDUCTANCE, "H"), (q.FREQUENCY, "Hz"))
        if measure.power_of(prefix + base) is not None
    ]
    for measure, unit in units:
        assert read_quantity(f"{number:f} {unit}", measure) == float(number * Decimal(10) ** PREFIXES[prefix])


@given(
    st.sampled_from([(measure, unit) for measure in MEASURES for unit, _ in measure.units]),
    st.floats(1e-3, 1e5).map(lambda value: float(f"{value:.6g}")),
    st.sampled_from([1.0, -1.0]),
)
def test_what_is_written_is_read_back(kind: tuple[q.Measure, str], number: float, sign: float) -> None:
    measure, unit = kind
    si = sign * number * 10.0 ** (measure.power_of(unit) or 0)
    text = write_quantity(si, unit)
    assert read_quantity(text, measure) == pytest.approx(si, rel=1e-5)
    assert text == write_quantity(read_quantity(text, measure), unit)


@given(st.text(max_size=30), st.sampled_from(MEASURES))
def test_no_text_escapes_the_reader(text: str, measure: q.Measure) -> None:
    try:
        said = (str(read_quantity(text, measure)), "read")
    except UnreadableQuantity as error:
        said = (error.what, error.cure)
    assert all(said)
    assert said[0] not in ("nan", "inf", "-inf")


def test_every_unit_belongs_to_one_kind_only() -> None:
    seen: dict[str, str] = {}
    for measure in MEASURES:
        for unit, _ in measure.units:
            assert unit not in seen or {seen[unit], measure.name} == {"level", "slope"}, unit
            seen[unit] = measure.name
