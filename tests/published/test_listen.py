"""The head and the loudness meter against print: the exact sphere, and what a sine at full scale must read."""

import numpy as np
import pyloudnorm
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import resample_poly
from scipy.special import eval_legendre, spherical_jn, spherical_yn

from forehear.listen import RATE_HZ, SphereHead, loudness_lufs, true_peak
from published.printed import Case, cases

CASES = [case for name, case in cases("section1.yaml").items() if name.startswith("S1.sphere.point")]
HEAD = SphereHead(ear_rad=np.pi / 2)


def at_ear(angle_deg: float, ka: float, distance_m: float = np.inf) -> complex:
    """Pressure at the left ear of a ball for sound from an angle away from that ear, its delay put back."""
    angle = np.radians(angle_deg)
    unit, far = np.array([[np.sin(angle), np.cos(angle), 0.0]]), np.array([distance_m])
    hz = np.array([ka * HEAD.sound_speed_m_s / (2 * np.pi * HEAD.radius_m)])
    turn = np.exp(-2j * np.pi * hz[0] * HEAD.delays_s(unit, far)[0, 0])
    return complex(HEAD.transfer(unit, far, hz)[0, 0, 0] * turn)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_the_ear_of_a_ball_hears_what_the_exact_sphere_has(case: Case) -> None:
    """By reciprocity a source far away does at the ear what a source at the ear does far away."""
    for place, angle_deg in enumerate(case.inputs["theta_deg"]):
        found = at_ear(angle_deg, case.inputs["ka"])
        level, phase = (case.expected[name][place] for name in ("level_dB", "phase_deg"))
        assert 20 * np.log10(abs(found)) == pytest.approx(level, abs=0.01)  # as tight as it is printed
        apart = (np.degrees(np.angle(found)) - phase + 180) % 360 - 180
        assert abs(apart) < 0.1


@pytest.mark.parametrize("distance_m", [0.35, 0.7, 1.0, 1.3, 3.0])
@pytest.mark.parametrize("ka", [0.1, 1.0, 4.0, 15.0])
def test_a_source_nearby_is_heard_as_the_series_says(ka: float, distance_m: float) -> None:
    """Duda and Martens 1998, the series written out again with scipy's Bessel functions."""
    radii = distance_m / HEAD.radius_m
    order = np.arange(round(ka + 25))
    outside = spherical_jn(order, ka * radii) - 1j * spherical_yn(order, ka * radii)
    slope = spherical_jn(order, ka, derivative=True) - 1j * spherical_yn(order, ka, derivative=True)
    for angle_deg in (0.0, 37.3, 90.0, 141.7, 180.0):
        terms = (2 * order + 1) * outside / slope * eval_legendre(order, np.cos(np.radians(angle_deg)))
        wanted = -radii / ka * np.exp(1j * ka * radii) * terms[np.isfinite(terms)].sum()
        assert abs(at_ear(angle_deg, ka, distance_m) - wanted) < 0.01 * max(1.0, abs(wanted))


def test_level_differences_of_the_ears_are_those_of_the_series() -> None:
    """From the left at 1.4 m, 250 Hz to 2 kHz, ears at 100 degrees: worked out with the series elsewhere, to 0.1 dB."""
    hz = np.array([250.0, 500.0, 750.0, 1000.0, 1500.0, 2000.0])
    left, right = SphereHead().transfer(np.array([[0.0, 1.0, 0.0]]), np.array([1.4]), hz)[:, 0]
    assert 20 * np.log10(np.abs(left / right)) == pytest.approx([1.8, 3.2, 4.2, 4.4, 5.3, 6.0], abs=0.05)


def test_a_full_sine_in_one_channel_reads_what_the_recommendation_says() -> None:
    """ITU-R BS.1770, from memory: 997 Hz at full scale in the left, right or centre channel reads -3.01 LUFS."""
    sine = np.sin(2 * np.pi * 997 * np.arange(5 * RATE_HZ) / RATE_HZ)
    assert loudness_lufs(sine[np.newaxis]) == pytest.approx(-3.01, abs=0.005)
    assert loudness_lufs(np.array([sine, np.zeros_like(sine)])) == pytest.approx(-3.01, abs=0.005)
    assert loudness_lufs(0.1 * np.array([sine, sine])) == pytest.approx(-20.0, abs=0.005)


@given(st.integers(0, 2**31), st.integers(1, 2), st.floats(0.01, 1.0))
def test_loudness_is_what_a_library_says(seed: int, channels: int, least: float) -> None:
    """pyloudnorm with the filters the recommendation prints; noise whose level jumps, so that gates act."""
    random = np.random.default_rng(seed)
    steps = np.repeat(10 ** random.uniform(np.log10(least) - 2, 0, 20), RATE_HZ // 5)
    noise = 0.2 * random.standard_normal((channels, steps.size)) * steps
    meter = pyloudnorm.Meter(RATE_HZ, filter_class="DeMan")
    assert loudness_lufs(noise) == pytest.approx(meter.integrated_loudness(noise.T), abs=0.05)


@given(st.integers(0, 2**31), st.floats(0.1, 20.0))
def test_the_true_peak_is_that_of_a_sound_sampled_finer(seed: int, crest: float) -> None:
    """scipy's own filter, eight times finer; Annex 2 lets a meter miss up to 0.5 dB."""
    random = np.random.default_rng(seed)
    noise = random.standard_normal((2, 20_000)) * np.exp(-random.uniform(0, crest, (2, 20_000)))
    slower = np.array([np.convolve(row, np.hanning(7), "same") for row in noise])
    finer = float(np.abs(resample_poly(slower, 8, 1, axis=1)).max())
    assert 20 * np.log10(true_peak(slower) / finer) == pytest.approx(0.0, abs=0.1)
    assert true_peak(slower) >= np.abs(slower).max()


def test_no_peak_hides_between_samples() -> None:
    """A sine at a quarter of the rate, all samples 3.01 dB below its top."""
    sine = np.sin(np.pi / 2 * np.arange(4000) + np.pi / 4) * np.hanning(4000)
    assert 20 * np.log10(true_peak(sine[np.newaxis])) == pytest.approx(0.0, abs=0.05)
