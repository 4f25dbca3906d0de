"""Curves: what is measured is read whatever its layout, and never guessed at or drawn beyond its ends."""

import math
import time
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.errors import DataError
from forehear.ground.reading.curves import Curve, curve_from_text, read_curve

FREQUENCY_HZ = np.geomspace(20.0, 20_000.0, 31)
LEVEL_DB = 85.0 + 3.0 * np.sin(np.log(FREQUENCY_HZ))
PHASE_DEG = (-40.0 * np.log(FREQUENCY_HZ) + 180.0) % 360.0 - 180.0


def written(separator: str, *, comma: bool = False, phase: bool = False, head: str = "") -> str:
    columns = [FREQUENCY_HZ, LEVEL_DB, *([PHASE_DEG] if phase else [])]
    lines = [separator.join(f"{cell:.6f}" for cell in row) for row in zip(*columns, strict=True)]
    body = "\n".join(lines)
    return head + (body.replace(".", ",") if comma else body) + "\n"


@pytest.mark.parametrize("comma", [False, True])
@pytest.mark.parametrize("phase", [False, True])
@pytest.mark.parametrize("separator", ["\t", " ", ";", "; ", "   ", " \t "])
@pytest.mark.parametrize(
    "head", ["", "# invented\n* also\n", "Freq [Hz];SPL [dB];Phase\n\n", "! a\n// b\n; c\n"]
)
def test_layouts_are_told_from_the_content(separator: str, phase: bool, comma: bool, head: str) -> None:  # noqa: FBT001
    curve = curve_from_text(written(separator, comma=comma, phase=phase, head=head), "x.txt")
    np.testing.assert_allclose(curve.frequency_hz, FREQUENCY_HZ, atol=1e-6)
    np.testing.assert_allclose(curve.value, LEVEL_DB, atol=1e-6)
    assert (curve.phase_deg is not None) == phase


@pytest.mark.parametrize("separator", [",", ", "])
def test_commas_between_columns_leave_the_point_for_decimals(separator: str) -> None:
    text = written(separator, phase=True)
    curve = curve_from_text(text, "x.csv")
    reference = np.genfromtxt(text.splitlines(), delimiter=",")  # numpy's own reader
    assert curve.phase_deg is not None
    np.testing.assert_array_equal(np.c_[curve.frequency_hz, curve.value, curve.phase_deg], reference)


@pytest.mark.parametrize("name", ["x.txt", "x.frd", "x", "x.yaml", "x.csv"])
def test_no_ending_has_a_meaning(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text(written("\t"))
    assert read_curve(tmp_path / name).frequency_hz.size == FREQUENCY_HZ.size


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1", "utf-16"])
def test_a_degree_sign_in_a_header_does_no_harm(tmp_path: Path, encoding: str) -> None:
    (tmp_path / "x").write_bytes(written(" ", phase=True, head="Hz dB \u00b0\n").encode(encoding))
    assert read_curve(tmp_path / "x").phase_deg is not None


ROWS = [f"{100 * n} {80 + n / 10:.1f}" for n in range(1, 21)]


def with_line(number: int, line: str) -> str:
    rows = list(ROWS)
    rows[number - 1] = line
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize(
    ("text", "words", "line"),
    [
        (with_line(7, "700 NaN"), "not a number", 7),
        (with_line(1, "nan 80"), "not a number", 1),
        (with_line(7, "700 inf"), "not a number", 7),
        (with_line(1, "0 80"), "0 Hz", 1),
        (with_line(1, "-20 80"), "-20 Hz", 1),
        (with_line(7, "600 80"), "600 Hz comes after 600 Hz", 7),
        (with_line(7, "70 80"), "70 Hz comes after 600 Hz", 7),
        (with_line(7, "700 80 -20"), "3 columns here, 2", 7),
        (with_line(7, "700"), "two or three numbers", 7),
        (with_line(7, "700 eighty"), "two or three numbers", 7),
        (with_line(7, "700;80"), "two or three numbers", 7),
        (with_line(7, "700 1e9"), "far outside", 7),
        ("\n".join(ROWS[:5]), "only 5 lines", 1),
        ("", "no line", 1),
        ("just words\nand more of them", "no line", 1),
        ("100,5,80,1\n200,5,80,1\n", "two or three numbers", 1),
        ("100, 80,5\n200, 81,5\n", "two or three numbers", 1),
        ("1 2 3 4\n", "two or three numbers", 1),
    ],
)
def test_what_is_wrong_is_told_with_its_line(text: str, words: str, line: int) -> None:
    with pytest.raises(DataError) as caught:
        curve_from_text(text, "x.txt")
    assert words in caught.value.what
    assert caught.value.where == f"x.txt:{line}"
    assert caught.value.cure


def test_a_magnitude_must_be_above_zero() -> None:
    text = with_line(4, "400 0")
    assert curve_from_text(text, "x").value[3] == 0.0
    with pytest.raises(DataError, match="not above zero"):
        curve_from_text(text, "x", above_zero=True)


def test_junk_is_refused_quickly(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    (tmp_path / "random").write_bytes(rng.bytes(200_000))
    (tmp_path / "large").write_bytes(b"7 " * 5_000_000)
    (tmp_path / "zeros").write_bytes(bytes(100_000))
    (tmp_path / "one line").write_bytes(b"9" * 4_000_000)
    start = time.perf_counter()
    for name in ("random", "large", "zeros", "one line", "missing", "."):
        with pytest.raises(DataError) as caught:
            read_curve(tmp_path / name)
        assert caught.value.where
        assert caught.value.cure
    assert time.perf_counter() - start < 20  # a reader that hangs fails; speed itself is measured elsewhere


@given(st.text("0123456789.,;:-+eEnNaAiIfF# \t\n*!/", max_size=300) | st.text(max_size=100))
def test_no_text_escapes_the_reader(text: str) -> None:
    try:
        curve = curve_from_text(text, "x")
    except DataError as error:
        said = (error.what, error.where, error.cure)
        assert all(said)
        return
    assert np.all(np.diff(curve.frequency_hz) > 0)


@given(st.lists(st.floats(20.0, 20_000.0), min_size=1, max_size=20))
def test_between_points_a_straight_line_over_log_frequency(wanted_hz: list[float]) -> None:
    # A level that is a straight line in log f (so many dB an octave) is met exactly between any points.
    curve = Curve(FREQUENCY_HZ, 90.0 - 6.0 * np.log2(FREQUENCY_HZ / 1000.0), None, "x")
    found = curve.at(np.array(wanted_hz))
    np.testing.assert_allclose(found.value, [90 - 6 * math.log2(f / 1000) for f in wanted_hz], atol=1e-9)


def test_phase_is_unwrapped_before_it_is_interpolated() -> None:
    delay_s = 1e-3
    frequency_hz = np.arange(100.0, 5000.0, 100.0)
    wrapped = np.degrees(np.angle(np.exp(-2j * np.pi * frequency_hz * delay_s)))
    phase = Curve(frequency_hz, frequency_hz * 0, wrapped, "x").at(np.array([1234.0])).phase_deg
    assert phase is not None
    # Within one interval, log f bends away from f by at most 1/8 (df/f)^2 of the cycle.
    assert (
        abs((phase[0] + 360 * 1234.0 * delay_s + 180) % 360 - 180)
        < 360 * 1234.0 * delay_s / 8 * (100 / 1200) ** 2
    )


def test_nothing_is_drawn_beyond_the_ends() -> None:
    curve = Curve(FREQUENCY_HZ, LEVEL_DB, None, "x.txt")
    assert curve.covers(20.0, 20_000.0)
    for outside in (19.9, 20_100.0):
        with pytest.raises(DataError) as caught:
            curve.at(np.array([1000.0, outside]))
        assert "20 Hz to 2e+04 Hz" in caught.value.what
