"""The helper that holds answers against print can say no."""

import pytest

from published.printed import Case, half_last_digit

CASE = Case(
    "a case",
    {},
    {"ratio": 2.0, "level_dB": -6.0, "phase_deg": -180.0, "turns": 100.0},
    {"rel": 1e-3, "abs_dB": 0.1, "abs_deg": 0.5, "rel_turns": 0.05},
    "invented",
)


@pytest.mark.parametrize(("printed", "half"), [("3.83171", 5e-6), ("1.0e-3", 5e-5), ("12", 0.5)])
def test_half_of_the_last_digit(printed: str, half: float) -> None:
    assert half_last_digit(printed) == pytest.approx(half)


@pytest.mark.parametrize(
    "found", [{"ratio": 2.0019}, {"level_dB": -5.91}, {"phase_deg": 179.6}, {"turns": 104.9}]
)
def test_within_the_tolerance(found: dict[str, float]) -> None:
    CASE.check(**found)


@pytest.mark.parametrize(
    "found", [{"ratio": 2.0021}, {"level_dB": -5.89}, {"phase_deg": 179.4}, {"turns": 105.1}, {}]
)
def test_outside_the_tolerance(found: dict[str, float]) -> None:
    with pytest.raises(AssertionError):
        CASE.check(**found)
