"""Networks, coils, wire and preferred values against print; section4.yaml names the source of each case."""

import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.thiele_small import Resonance, mechanical_from_small_signal, small_signal_from_mechanical
from forehear.network import (
    Bank,
    BranchSolution,
    Capacitor,
    Chain,
    Coil,
    Element,
    Kind,
    Resistor,
    Step,
    brooks_coil,
    brooks_inductance_h,
    copper_wire_resistance_ohm,
    multilayer_inductance_h,
    nearest_preferred,
    preferred_values,
    single_layer_inductance_h,
    solve_branch,
)
from published.printed import Case, cases

CASES = cases("section4.yaml")
NOT_APPLICABLE = {
    "S4.coil.coupling": "coupling of coils is not computed: networks are solved without it",
}
LOW_PASS: Mapping[str, Callable[[NDArray[np.complex128]], NDArray[np.complex128]]] = {
    # Closed forms of the families, s normalised to the corner; textbook polynomials.
    "BW1": lambda s: 1 / (s + 1),
    "BW2": lambda s: 1 / (s**2 + math.sqrt(2) * s + 1),
    "BW3": lambda s: 1 / ((s + 1) * (s**2 + s + 1)),
    "BW4": lambda s: (
        1 / ((s**2 + 2 * math.sin(math.pi / 8) * s + 1) * (s**2 + 2 * math.cos(math.pi / 8) * s + 1))
    ),
    "LR2": lambda s: 1 / (s + 1) ** 2,
    "LR4": lambda s: 1 / (s**2 + math.sqrt(2) * s + 1) ** 2,
    "BES2": lambda s: 1 / (s**2 + math.sqrt(3) * s + 1),
}
RATIOS = np.geomspace(0.1, 10.0, 41)  # of frequency to the corner


def of(prefix: str) -> list[Case]:
    return [case for name, case in CASES.items() if name.startswith(prefix)]


def named(case: Case) -> str:
    return case.id


def ladder(elements: Sequence[Element]) -> tuple[Step, ...]:
    """Series and shunt in turn, source end first."""
    return tuple(Step((Kind.SERIES, Kind.SHUNT)[place % 2], part) for place, part in enumerate(elements))


def low_parts(values: Sequence[float]) -> list[Element]:
    return [Capacitor(value) if place % 2 else Coil(value) for place, value in enumerate(values)]


def high_parts(values: Sequence[float]) -> list[Element]:
    return [Coil(value) if place % 2 else Capacitor(value) for place, value in enumerate(values)]


def response(parts: Sequence[Element], load_ohm: float, frequency_hz: NDArray[np.float64]) -> BranchSolution:
    return solve_branch(ladder(parts), np.full(frequency_hz.shape, load_ohm + 0j), frequency_hz)


def test_every_case_is_used_or_ruled_out() -> None:
    used = {case.id for prefix in ("S4.norm", "S4.filter", "S4.lpad", "S4.wire") for case in of(prefix)}
    used |= {
        case.id for prefix in ("S4.coil.single", "S4.coil.multi", "S4.coil.brooks") for case in of(prefix)
    }
    used |= {"S4.zobel.1", "S4.notch.trap", "S4.eseries", "S4.dcr.loss", "S4.net.load"}
    assert set(CASES) == used | set(NOT_APPLICABLE)
    assert len(CASES) == 31


@pytest.mark.parametrize("case", of("S4.norm"), ids=named)
def test_normalised_ladders_have_the_response_of_their_family(case: Case) -> None:
    wanted = LOW_PASS[case.inputs["family"]]
    frequency_hz = RATIOS / (2 * np.pi)  # the corner is at 1 rad/s
    low = response(low_parts(case.expected["LP"]), 1.0, frequency_hz).output_voltage_v
    high = response(high_parts(case.expected["HP"]), 1.0, frequency_hz).output_voltage_v
    np.testing.assert_allclose(low, wanted(1j * RATIOS), rtol=case.tolerance["rel"])
    np.testing.assert_allclose(high, wanted(1 / (1j * RATIOS)), rtol=case.tolerance["rel"])


@pytest.mark.parametrize("case", of("S4.filter"), ids=named)
def test_filters_of_real_parts_have_the_response_of_their_family(case: Case) -> None:
    wanted = LOW_PASS[case.inputs["family"]]
    frequency_hz = RATIOS * case.inputs["fc_Hz"]

    def si(printed: Mapping[str, float]) -> list[float]:
        return [value * (1e-3 if name.startswith("L") else 1e-6) for name, value in printed.items()]

    low = response(low_parts(si(case.expected["LP_mH_uF"])), case.inputs["R"], frequency_hz).output_voltage_v
    high = response(
        high_parts(si(case.expected["HP_uF_mH"])), case.inputs["R"], frequency_hz
    ).output_voltage_v
    np.testing.assert_allclose(low, wanted(1j * RATIOS), rtol=case.tolerance["rel"])
    np.testing.assert_allclose(high, wanted(1 / (1j * RATIOS)), rtol=case.tolerance["rel"])


@pytest.mark.parametrize("case", of("S4.lpad"), ids=named)
def test_pads_keep_the_load_and_share_the_power(case: Case) -> None:
    load_ohm, power_w = case.inputs["Z"], case.inputs["P_in_W"]
    series, shunt = Resistor(case.expected["Rs"]), Resistor(case.expected["Rp"])
    found = response([series, shunt], load_ohm, np.array([1000.0]))
    input_ohm, out = found.input_impedance_ohm[0].real, found.output_voltage_v[0].real
    assert input_ohm == pytest.approx(load_ohm, rel=case.tolerance["rel"])
    assert 20 * math.log10(out) == pytest.approx(-case.inputs["A_dB"], rel=case.tolerance["rel"])
    volts_squared = power_w * input_ohm
    case.check(
        P_Rs=volts_squared * (1 - out) ** 2 / series.ohm,
        P_Rp=volts_squared * out**2 / shunt.ohm,
        P_load=volts_squared * out**2 / load_ohm,
    )


def test_zobel_makes_an_inductive_coil_a_resistor() -> None:
    case = CASES["S4.zobel.1"]
    frequency_hz = np.geomspace(20.0, 20e3, 31)
    load = case.inputs["Re"] + 2j * np.pi * frequency_hz * case.inputs["Le_H"]
    leg = Chain((Resistor(case.expected["Rz"]), Capacitor(case.expected["Cz_uF"] * 1e-6)))
    found = solve_branch((Step(Kind.SHUNT, leg),), load, frequency_hz)
    np.testing.assert_allclose(found.input_impedance_ohm, case.expected["Zin"], rtol=case.tolerance["rel"])


def test_trap_in_series() -> None:
    case = CASES["S4.notch.trap"]
    trap = Bank((Coil(case.inputs["L_H"]), Capacitor(case.inputs["C_F"]), Resistor(case.inputs["R"])))
    f0_hz = case.expected["f0"]
    around_hz = f0_hz * np.linspace(0.9, 1.1, 2001)
    found = response([trap], case.inputs["Rload"], np.array([f0_hz, f0_hz / 2, 2 * f0_hz])).output_voltage_v
    deepest, half, double = 20 * np.log10(np.abs(found))
    case.check(depth_dB=deepest, dB_half=half, dB_double=double)
    levels = np.abs(response([trap], case.inputs["Rload"], around_hz).output_voltage_v)
    assert around_hz[int(np.argmin(levels))] == pytest.approx(f0_hz, rel=1e-4)  # the step of the search


def test_preferred_numbers() -> None:
    case = CASES["S4.eseries"]
    for series, values in case.expected.items():
        assert list(preferred_values(series)) == values
        for value in values:  # a preferred value is its own nearest, in any decade
            assert nearest_preferred(value, series) == value
            assert nearest_preferred(value * 1e-6, series) == pytest.approx(value * 1e-6, rel=1e-15)


@pytest.mark.parametrize("case", of("S4.coil.single"), ids=named)
def test_single_layer(case: Case) -> None:
    found_uh = 1e6 * single_layer_inductance_h(case.inputs["r_m"], case.inputs["len_m"], case.inputs["N"])
    case.check(wheeler_uH=found_uh)
    # Wheeler's own claim, 1 % of the current sheet; the sheet's exact value is printed beside his.
    assert found_uh == pytest.approx(case.expected["current_sheet_uH"], rel=0.01)


@pytest.mark.parametrize("case", of("S4.coil.multi"), ids=named)
def test_multilayer(case: Case) -> None:
    sizes = (case.inputs[name] for name in ("a_m", "l_m", "c_m", "N"))
    found_uh = 1e6 * multilayer_inductance_h(*sizes)
    slack = case.tolerance["rel_wheeler"]
    assert found_uh == pytest.approx(case.expected["wheeler_uH"], rel=slack)
    assert found_uh == pytest.approx(case.expected["neumann_uH"], rel=0.01)  # Wheeler's own claim


def test_brooks_coil() -> None:
    case = CASES["S4.coil.brooks.ex"]
    turns, side_m = case.inputs["N"], case.inputs["c_m"]
    case.check(L_mH=1e3 * brooks_inductance_h(turns, side_m))
    # The same coil found from its inductance, of a wire whose pitch fills the section with those turns.
    pitch_m = side_m / math.sqrt(turns)
    built = brooks_coil(case.expected["L_mH"] * 1e-3, 1e-3, pitch_ratio=pitch_m / 1e-3)
    case.check(
        mean_turn_m=built.wire_length_m / built.turns, wire_m=built.wire_length_m, R_ohm_1mm=built.dcr_ohm
    )
    assert built.turns == pytest.approx(turns, rel=case.tolerance["rel"])
    assert built.side_m == pytest.approx(side_m, rel=case.tolerance["rel"])


@pytest.mark.parametrize("case", of("S4.wire.AWG"), ids=named)
def test_wire_by_gauge(case: Case) -> None:
    diameter_m = case.expected["d_mm"] * 1e-3
    assert 0.127e-3 * 92 ** ((36 - case.inputs["AWG"]) / 39) == pytest.approx(
        diameter_m, rel=1e-6
    )  # ASTM B258
    found = copper_wire_resistance_ohm(1.0, diameter_m)
    case.check(R_mohm_m=1e3 * found, A_mm2=1e6 * 1.7241e-8 / found)


@pytest.mark.parametrize("case", of("S4.wire.mm"), ids=named)
def test_wire_by_diameter(case: Case) -> None:
    diameter_m = case.inputs["d_mm"] * 1e-3
    case.check(
        R20_mohm_m=1e3 * copper_wire_resistance_ohm(1.0, diameter_m),
        R60_mohm_m=1e3 * copper_wire_resistance_ohm(1.0, diameter_m, temperature_c=60.0),
    )


def test_resistance_of_a_coil_costs_level_and_control() -> None:
    case = CASES["S4.dcr.loss"]
    dcr_ohm, re_ohm = case.inputs["DCR"], case.inputs["R"]
    found = response([Coil(0.0, dcr_ohm)], re_ohm, np.array([1000.0])).output_voltage_v
    assert 20 * math.log10(abs(found[0])) == pytest.approx(case.expected["dB"], rel=case.tolerance["rel"])
    # The resistance in the circuit brakes the driver less: same mechanics, Re and DCR in series.
    resonance = Resonance(40.0, case.inputs["Qms"], case.inputs["Qes"])
    driver = mechanical_from_small_signal(resonance, 0.03, re_ohm, 0.0133, Air())
    behind = small_signal_from_mechanical(type(driver)(**{**vars(driver), "re_ohm": re_ohm + dcr_ohm}), Air())
    case.check(Qes_new=behind.qes, Qts_new=behind.qts)


def test_low_pass_into_a_driver() -> None:
    case = CASES["S4.net.load"]
    given = case.inputs
    frequency_hz = np.array(given["f_Hz"], dtype=float)
    parts = [
        Coil(given["L1_H"], given["DCR1"]),
        Capacitor(given["C1_F"]),
        Coil(given["L2_H"], given["DCR2"]),
        Capacitor(given["C2_F"]),
    ]
    found = solve_branch(ladder(parts), given["Re"] + 2j * np.pi * frequency_hz * given["Le_H"], frequency_hz)
    for name, answer in (("H", found.output_voltage_v), ("Zin", found.input_impedance_ohm)):
        wanted = [value["re"] + 1j * value["im"] for value in case.expected[name]]
        np.testing.assert_allclose(answer, wanted, rtol=case.tolerance["rel"])
