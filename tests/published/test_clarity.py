"""Clarity and the speech transmission index against print; sources stand beside each case in section7-speech.yaml."""

import numpy as np
import pytest

from forehear.judge import (
    MODULATION_HZ,
    EnergyDecay,
    clarity_c50_db,
    definition_d50,
    index_of_octaves,
    modulation_transfer,
    noise_factor,
    speech_transmission,
    transmission_index,
)
from forehear.judge.intelligibility import OCTAVE_WEIGHT, REDUNDANCY_WEIGHT
from forehear.judge.speech import A_WEIGHTING_DB, SPEECH_OCTAVE_HZ
from published.printed import Case, cases

CASES = cases("section7-speech.yaml")
CLARITY = [name for name in CASES if name.startswith("S7.c50.")]
ROOMS = [name for name in CASES if name.startswith("S7.sti.exp.") or name == "S7.sti.direct"]
NOISES = [name for name in CASES if name.startswith("S7.sti.noise.")]
SPEECH, SILENCE = np.full(7, 60.0), np.full(7, -200.0)


def _decay(case: Case) -> EnergyDecay:
    """Direct sound at 0 s where the case has one, and a tail, which may start later."""
    given = case.inputs
    direct = 10 ** (given["DRR_dB"] / 10) if "DRR_dB" in given else 0.0
    edges = np.array([0.0, 0.0, given.get("t1_s", 0.0)])
    energy = np.tile([direct, 0.0], (7, 1))
    return EnergyDecay(edges, energy, np.ones(7), np.full(7, given["T_s"]))


def test_every_case_is_used() -> None:
    assert CASES.keys() == {*CLARITY, *ROOMS, *NOISES, "S7.sti.weights"}


@pytest.mark.parametrize("name", CLARITY)
def test_clarity(name: str) -> None:
    case, decay = CASES[name], _decay(CASES[name])
    found = {"C50_dB": clarity_c50_db(decay)[3], "D50": definition_d50(decay)[3]}
    case.check(**{key: found[key] for key in case.expected})


@pytest.mark.parametrize("name", ROOMS)
def test_modulation_of_every_frequency(name: str) -> None:
    case = CASES[name]
    assert list(MODULATION_HZ) == case.inputs["F_Hz"]
    swing = modulation_transfer(_decay(case))[3]
    for hertz, found, printed in zip(MODULATION_HZ, swing, case.expected["m"], strict=True):
        assert abs(found - printed) <= case.allowed("m", printed), f"{case.id}: {found} at {hertz} Hz"


@pytest.mark.parametrize("name", ROOMS)
def test_index_of_a_room(name: str) -> None:
    case = CASES[name]
    made = speech_transmission(_decay(case), SPEECH, SILENCE, with_hearing=False)
    found = {"STI": float(made.index), "MTI": made.octave_index[3]}
    case.check(**{key: found[key] for key in case.expected if key != "m"})


@pytest.mark.parametrize("name", NOISES)
def test_noise_alone(name: str) -> None:
    case = CASES[name]
    swing = noise_factor(SPEECH, SPEECH - case.inputs["SNR_dB"])
    case.check(m=swing[0], STI=float(index_of_octaves(transmission_index(swing))))


def test_weights_of_the_octaves() -> None:
    case = CASES["S7.sti.weights"]
    assert list(OCTAVE_WEIGHT) == case.expected["alpha"]
    assert list(REDUNDANCY_WEIGHT) == case.expected["beta"]
    # One octave alone shares nothing with a neighbour, so the index reads the weights back.
    assert index_of_octaves(np.eye(7)) == pytest.approx(case.expected["alpha"], abs=1e-9)
    every = float(index_of_octaves(np.ones(7)))
    case.check(sum_alpha=sum(OCTAVE_WEIGHT), sum_beta=sum(REDUNDANCY_WEIGHT), difference=every)


def test_a_weighting_is_its_closed_form() -> None:
    """IEC 61672-1, annex: poles at 20.6, 107.7, 737.9 and 12194 Hz, zero at 1 kHz; printed to 0.1 dB."""
    square = (1000 * 10 ** (0.3 * np.arange(-3, 4))) ** 2
    low = square**2 / ((square + 20.6**2) * np.sqrt((square + 107.7**2) * (square + 737.9**2)))
    weight = 20 * np.log10(low * 12194**2 / (square + 12194**2))
    assert len(SPEECH_OCTAVE_HZ) == square.size
    assert weight - weight[3] == pytest.approx(np.array(A_WEIGHTING_DB), abs=0.051)
