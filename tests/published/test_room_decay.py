"""Decay times, modes and the absorption of air against print; sources stand in section7-decay.yaml."""

import numpy as np
import pytest

from forehear.ground.air import Air
from forehear.room import (
    Shoebox,
    absorbing_area_m2,
    air_absorption_db_per_m,
    critical_distance_m,
    eyring_s,
    mode_frequencies,
    sabine_s,
    schroeder_hz,
)
from published.printed import cases

CASES = cases("section7-decay.yaml")
AIR = Air()
TESTED = {"S7.rt.1", "S7.rt.3", "S7.modes.1", "S7.air.20.50"}


def test_every_case_is_used() -> None:
    assert CASES.keys() == TESTED


@pytest.mark.parametrize("name", ["S7.rt.1", "S7.rt.3"])
def test_decay(name: str) -> None:
    case = CASES[name]
    room = Shoebox.uniform(tuple(case.inputs["L_m"]), case.inputs["alpha"])
    area = float(absorbing_area_m2(room)[4])
    eyring = float(eyring_s(room, AIR, air_absorbs=False)[4])
    case.check(
        V=room.volume_m3,
        S=float(room.areas_m2.sum()),
        A=area,
        alpha_mean=area / float(room.areas_m2.sum()),
        T_sabine=float(sabine_s(room, AIR, air_absorbs=False)[4]),
        T_eyring=eyring,
        schroeder_Hz=schroeder_hz(room.volume_m3, eyring),
        rc_sabine_Q1=critical_distance_m(area),
        rc_Q4=critical_distance_m(area, 4.0),
    )
    assert critical_distance_m(area) == pytest.approx(case.expected["rc_057"], rel=0.01)  # the rule of thumb


def test_modes() -> None:
    case = CASES["S7.modes.1"]
    modes = mode_frequencies(tuple(case.inputs["L_m"]), 90.6, case.inputs["c"])
    assert len(modes.frequency_hz) == len(case.expected)
    for order, frequency, printed in zip(modes.order, modes.frequency_hz, case.expected, strict=True):
        assert list(order) == printed["n"]
        assert frequency == pytest.approx(printed["f"], rel=case.tolerance["rel"])


def test_absorption_of_air() -> None:
    case = CASES["S7.air.20.50"]
    given = case.inputs
    air = Air(given["T_C"], 1e3 * given["p_kPa"], given["RH"] / 100)
    lost = 1e3 * air_absorption_db_per_m(np.array(given["f_Hz"]), air)
    assert np.allclose(
        lost, case.expected, rtol=1e-7, atol=0.0
    )  # closer than the tolerance: all printed digits
