"""Phase from level against closed forms; the source of each stands in section8.yaml."""

import numpy as np
import pytest

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.minimum_phase import minimum_phase_rad
from published.printed import Case, cases

CASES = cases("section8.yaml")


def _bell(case: Case, frequency_hz: FloatArray) -> ComplexArray:
    given = case.inputs
    s = 1j * frequency_hz / given["f0"]
    root_gain = 10 ** (given["gain_dB"] / 40)
    return (s**2 + s * root_gain / given["Q"] + 1) / (s**2 + s / (root_gain * given["Q"]) + 1)


def _db(response: ComplexArray) -> FloatArray:
    return 20 * np.log10(np.abs(response))


def test_every_case_is_used() -> None:
    assert CASES.keys() == {"S8.minphase.bell", "S8.hilbert.discrete"}


@pytest.mark.parametrize(
    "frequency_hz",
    [FrequencyGrid.standard().frequency_hz, np.geomspace(20.0, 20e3, 2000)],
    ids=["standard grid", "dense"],
)
def test_phase_of_a_bell(frequency_hz: FloatArray) -> None:
    case = CASES["S8.minphase.bell"]
    at = np.array(case.inputs["f_Hz"], dtype=float)
    flat = {"slope_below_db_per_octave": 0.0, "slope_above_db_per_octave": 0.0}
    phase = minimum_phase_rad(frequency_hz, _db(_bell(case, frequency_hz)), **flat, at_hz=at)
    assert np.abs(_db(_bell(case, at)) - case.expected["dB"]).max() <= case.tolerance["abs_dB"]
    assert np.abs(np.degrees(phase) - case.expected["phase_deg"]).max() <= case.tolerance["abs_deg"]


def test_phase_of_a_digital_filter() -> None:
    """The unit circle is brought onto the frequency axis by the bilinear map, which keeps minimum phase."""
    case = CASES["S8.hilbert.discrete"]
    b, a, wanted = (np.array(case.inputs[key]) for key in ("b", "a", "w"))
    mapped = np.exp(np.arange(-10.0, 10.0, 1e-4))
    back = np.exp(-2j * np.arctan(mapped))
    level = _db((b[0] + b[1] * back) / (a[0] + a[1] * back))
    flat = {"slope_below_db_per_octave": 0.0, "slope_above_db_per_octave": 0.0}
    phase = np.degrees(minimum_phase_rad(mapped, level, **flat, at_hz=np.tan(wanted / 2)))
    assert np.abs(phase - case.expected).max() <= case.tolerance["abs"]
