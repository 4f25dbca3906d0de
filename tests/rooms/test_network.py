"""Laws a passive network keeps, whatever its parts: power, order, reciprocity, scale; and what it refuses."""

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.arrays import ComplexArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.errors import OutsideValidity
from forehear.ground.flowing import DriverImpedance
from forehear.network import (
    Bank,
    Branch,
    Capacitor,
    Chain,
    Coil,
    Element,
    Kind,
    Resistor,
    Step,
    Wiring,
    brooks_coil,
    brooks_inductance_h,
    copper_wire_resistance_ohm,
    element_impedance,
    nearest_preferred,
    preferred_values,
    single_layer_inductance_h,
    solve_branch,
    solve_network,
    wire_drivers,
)

GRID = FrequencyGrid(np.geomspace(20.0, 20e3, 23))
F = GRID.frequency_hz
ohms = st.floats(0.05, 500.0)
parts = st.one_of(
    st.builds(Resistor, ohms),
    st.builds(Coil, st.floats(2e-5, 2e-2), st.floats(0.01, 2.0)),
    st.builds(Capacitor, st.floats(2e-7, 2e-4), st.floats(0.0, 0.5)),
)


def grown(inner: st.SearchStrategy[Element]) -> st.SearchStrategy[Element]:
    several = st.lists(inner, min_size=1, max_size=3).map(tuple)
    return st.one_of(st.builds(Chain, several), st.builds(Bank, several))


elements = st.recursive(parts, grown, max_leaves=5)
steps = st.lists(st.builds(Step, st.sampled_from(Kind), elements), max_size=6).map(tuple)
seeds = st.integers(0, 2**32 - 1)


def coupled(seed: int, drivers: int) -> ComplexArray:
    """Impedance of drivers that share air: symmetric, its real part positive definite, at every frequency."""
    random = np.random.default_rng(seed)
    real = random.normal(size=(F.size, drivers, drivers))
    reactance = random.normal(size=(F.size, drivers, drivers))
    loss = np.einsum("fij,fkj->fik", real, real) + 2.0 * np.eye(drivers)
    return np.moveaxis(loss + 1j * (reactance + reactance.transpose(0, 2, 1)), 0, -1)


def load_of(seed: int) -> ComplexArray:
    return coupled(seed, 1)[0, 0]


@given(elements)
def test_no_part_makes_power(element: Element) -> None:
    assert np.all(element_impedance(element, F).real > -1e-12 * np.abs(element_impedance(element, F)))


@given(steps, seeds)
def test_power_into_the_terminals_is_what_the_resistances_take(steps: tuple[Step, ...], seed: int) -> None:
    load = load_of(seed)
    found = solve_branch(steps, load, F)
    into_w = (1 / found.input_impedance_ohm).real  # 1 V at the input
    # Walk forward from the amplifier and count what every step takes.
    volts, amperes, taken_w = np.ones_like(load), 1 / found.input_impedance_ohm, np.zeros(F.size)
    for step in steps:
        impedance = element_impedance(step.element, F)
        if step.kind is Kind.SERIES:
            taken_w = taken_w + np.abs(amperes) ** 2 * impedance.real
            volts = volts - impedance * amperes
        else:
            through = volts / impedance
            taken_w = taken_w + np.abs(through) ** 2 * impedance.real
            amperes = amperes - through
    load_w = np.abs(found.output_voltage_v) ** 2 * (1 / load).real
    assert np.all(into_w >= 0)
    np.testing.assert_allclose(taken_w + load_w, into_w, rtol=1e-6, atol=1e-9 * float(into_w.max()))


shuffled = st.lists(elements, min_size=2, max_size=4).flatmap(
    lambda some: st.tuples(st.just(some), st.permutations(some))
)


@given(shuffled, seeds, st.sampled_from(Kind))
def test_neighbours_of_one_kind_may_change_places(
    orders: tuple[list[Element], list[Element]], seed: int, kind: Kind
) -> None:
    first, second = (solve_branch([Step(kind, part) for part in order], load_of(seed), F) for order in orders)
    np.testing.assert_allclose(first.input_impedance_ohm, second.input_impedance_ohm, rtol=1e-9)
    np.testing.assert_allclose(first.output_voltage_v, second.output_voltage_v, rtol=1e-9)


@given(st.lists(elements, min_size=1, max_size=4), seeds)
def test_neighbours_of_one_kind_are_one_chain_or_bank(chosen: list[Element], seed: int) -> None:
    load = load_of(seed)
    for kind, whole in ((Kind.SERIES, Chain(tuple(chosen))), (Kind.SHUNT, Bank(tuple(chosen)))):
        apart = solve_branch([Step(kind, part) for part in chosen], load, F)
        joined = solve_branch([Step(kind, whole)], load, F)
        np.testing.assert_allclose(apart.input_impedance_ohm, joined.input_impedance_ohm, rtol=1e-9)
        np.testing.assert_allclose(apart.output_voltage_v, joined.output_voltage_v, rtol=1e-9)


@given(steps, ohms, ohms)
def test_a_network_is_reciprocal(steps: tuple[Step, ...], near_ohm: float, far_ohm: float) -> None:
    """Current in the far resistor for a volt behind the near one is the same when the two change roles."""
    forward = (Step(Kind.SERIES, Resistor(near_ohm)), *steps)
    backward = (Step(Kind.SERIES, Resistor(far_ohm)), *reversed(steps))
    there = solve_branch(forward, np.full(F.shape, far_ohm + 0j), F).output_voltage_v / far_ohm
    back = solve_branch(backward, np.full(F.shape, near_ohm + 0j), F).output_voltage_v / near_ohm
    np.testing.assert_allclose(there, back, rtol=1e-6)


@given(steps, seeds, st.floats(0.1, 10.0))
def test_impedance_scales(steps: tuple[Step, ...], seed: int, factor: float) -> None:
    load = load_of(seed)
    found = solve_branch(steps, load, F)
    scaled = solve_branch([Step(s.kind, scale(s.element, factor)) for s in steps], factor * load, F)
    np.testing.assert_allclose(scaled.input_impedance_ohm, factor * found.input_impedance_ohm, rtol=1e-7)
    np.testing.assert_allclose(scaled.output_voltage_v, found.output_voltage_v, rtol=1e-7)


def scale(element: Element, factor: float) -> Element:
    match element:
        case Resistor():
            return Resistor(factor * element.ohm)
        case Coil():
            return Coil(factor * element.henry, factor * element.dcr_ohm)
        case Capacitor():
            return Capacitor(element.farad / factor, factor * element.esr_ohm)
        case Chain() | Bank():
            return type(element)(tuple(scale(part, factor) for part in element.elements))


@given(seeds, st.integers(1, 4))
def test_wired_drivers_obey_their_matrix(seed: int, drivers: int) -> None:
    matrix = coupled(seed, drivers)
    for wiring in Wiring:
        load, share = wire_drivers(matrix, wiring)
        amperes = np.linalg.solve(np.moveaxis(matrix, -1, 0), share.T[:, :, None])[
            :, :, 0
        ].T  # at 1 V across all
        if wiring is Wiring.SERIES:
            np.testing.assert_allclose(share.sum(axis=0), 1.0, rtol=1e-9)
            np.testing.assert_allclose(amperes, np.broadcast_to(1 / load, amperes.shape), rtol=1e-8)
        else:
            np.testing.assert_allclose(share, 1.0)
            np.testing.assert_allclose(amperes.sum(axis=0), 1 / load, rtol=1e-8)
        assert np.all(load.real > 0)


@given(seeds)
def test_drivers_that_share_no_air_add_up_plainly(seed: int) -> None:
    one, two = load_of(seed), load_of(seed + 1)
    matrix = np.zeros((2, 2, F.size), dtype=np.complex128)
    matrix[0, 0], matrix[1, 1] = one, two
    np.testing.assert_allclose(wire_drivers(matrix, Wiring.SERIES)[0], one + two, rtol=1e-12)
    np.testing.assert_allclose(wire_drivers(matrix, Wiring.PARALLEL)[0], one * two / (one + two), rtol=1e-12)


@given(steps, steps, seeds)
def test_a_whole_speaker(low: tuple[Step, ...], high: tuple[Step, ...], seed: int) -> None:
    matrix = np.zeros((3, 3, F.size), dtype=np.complex128)
    matrix[np.ix_([0, 2], [0, 2])] = coupled(seed, 2)
    matrix[1, 1] = load_of(seed + 1)
    impedance = DriverImpedance(GRID, ("left", "dome", "right"), matrix)
    branches = [
        Branch("low", ("left", "right"), low, Wiring.SERIES),
        Branch("high", ("dome",), high, reversed=True),
    ]
    found = solve_network(branches, impedance)
    low_ohm, high_ohm = (found.branches[name].input_impedance_ohm for name in ("low", "high"))
    np.testing.assert_allclose(1 / found.impedance_ohm, 1 / low_ohm + 1 / high_ohm, rtol=1e-12)
    volts = dict(zip(found.voltage.drivers, found.voltage.volts_v, strict=True))
    np.testing.assert_allclose(volts["dome"], -found.branches["high"].output_voltage_v)
    np.testing.assert_allclose(
        volts["left"] + volts["right"], found.branches["low"].output_voltage_v, rtol=1e-9
    )
    assert np.all(found.impedance_ohm.real > 0)
    turned = solve_network([branches[0], Branch("high", ("dome",), high)], impedance)
    np.testing.assert_array_equal(turned.impedance_ohm, found.impedance_ohm)


RESISTIVE = np.full(F.shape, 8.0 + 0j)
BESIDE_F5 = Chain(
    (Coil(1e-3), Capacitor(1 / ((2 * np.pi * F[5]) ** 2 * 1e-3)))
)  # lossless, resonant at band 5


@pytest.mark.parametrize(
    "steps",
    [(Step(Kind.SHUNT, Resistor(0.0)),), (Step(Kind.SHUNT, Coil(0.0)), Step(Kind.SHUNT, Resistor(0.0)))],
)
def test_a_short_is_refused(steps: tuple[Step, ...]) -> None:
    with pytest.raises(OutsideValidity, match="is a short at 20 Hz"):
        solve_branch(steps, RESISTIVE, F)


def test_a_lossless_trap_across_the_amplifier_is_refused() -> None:
    with pytest.raises(OutsideValidity, match=f"is a short at {F[5]:.5g} Hz"):
        solve_branch((Step(Kind.SHUNT, BESIDE_F5),), RESISTIVE, F)


def test_a_lossless_trap_behind_a_coil_silences_one_band() -> None:
    found = solve_branch((Step(Kind.SERIES, Coil(1e-3)), Step(Kind.SHUNT, BESIDE_F5)), RESISTIVE, F)
    assert abs(found.output_voltage_v[5]) < 1e-9
    assert found.input_impedance_ohm[5] == pytest.approx(2j * np.pi * F[5] * 1e-3, rel=1e-9)


def test_a_wire_beside_a_part_takes_all_the_current() -> None:
    assert np.all(element_impedance(Bank((Resistor(0.0), Capacitor(1e-6))), F) == 0)


def test_a_lossless_tank_at_its_resonance_lets_nothing_through() -> None:
    henry = (
        1 / (2 * math.pi) ** 2
    )  # with 1 F resonant at 1 Hz, where both reactances come out the same number
    tank = Bank((Coil(henry), Capacitor(1.0)))
    found = solve_branch((Step(Kind.SERIES, tank),), np.array([8.0 + 0j]), np.array([1.0]))
    assert abs(found.output_voltage_v[0]) < 1e-9
    assert np.isfinite(found.input_impedance_ohm[0])


@pytest.mark.parametrize(
    "make",
    [
        lambda: Resistor(-1.0),
        lambda: Coil(1e-3, -0.1),
        lambda: Coil(math.nan),
        lambda: Capacitor(0.0),
        lambda: Capacitor(math.inf),
        lambda: Chain(()),
        lambda: Bank(()),
        lambda: Branch("low", ()),
        lambda: nearest_preferred(0.0, "E24"),
        lambda: preferred_values("E7"),
        lambda: brooks_coil(-1e-3, 1e-3),
        lambda: copper_wire_resistance_ohm(1.0, 0.0),
        lambda: single_layer_inductance_h(0.02, math.nan, 10),
        lambda: wire_drivers(np.zeros((2, 2, 3), dtype=complex), Wiring.PARALLEL),
    ],
)
def test_what_no_part_can_be_is_refused(make: Callable[[], object]) -> None:
    with pytest.raises(OutsideValidity):
        make()


def two_ways(matrix: ComplexArray) -> DriverImpedance:
    return DriverImpedance(GRID, ("woofer", "dome"), matrix)


@pytest.mark.parametrize(
    ("branches", "said"),
    [
        ([Branch("low", ("woofer",))], "dome hangs on 0 branches"),
        ([Branch("low", ("woofer", "dome")), Branch("high", ("dome",))], "dome hangs on 2 branches"),
        ([Branch("low", ("woofer", "dome", "ghost"))], "ghost"),
        ([Branch("one", ("woofer",)), Branch("one", ("dome",))], "same name"),
        ([Branch("low", ("woofer",)), Branch("high", ("dome",))], "share air"),
    ],
)
def test_branches_that_cannot_be_are_refused(branches: list[Branch], said: str) -> None:
    with pytest.raises(OutsideValidity, match=said):
        solve_network(branches, two_ways(coupled(1, 2)))


@given(st.floats(1e-12, 1e6), st.sampled_from(["E6", "E12", "E24"]))
def test_the_nearest_preferred_value_is_near(value: float, series: str) -> None:
    found = nearest_preferred(value, series)
    steps_of_series = (*preferred_values(series), 10.0)
    widest = max(b / a for a, b in pairwise(steps_of_series))
    assert abs(math.log(found / value)) <= math.log(widest) / 2 * (1 + 1e-9)
    assert float(f"{found:e}".split("e")[0]) in steps_of_series


@given(st.floats(1e-5, 2e-2), st.floats(3e-4, 3e-3))
def test_a_wound_coil_has_the_inductance_it_was_wound_for(henry: float, diameter_m: float) -> None:
    built = brooks_coil(henry, diameter_m)
    assert brooks_inductance_h(built.turns, built.side_m) == pytest.approx(henry, rel=1e-9)
    assert built.turns * (1.1 * diameter_m) ** 2 == pytest.approx(built.side_m**2, rel=1e-9)
    assert built.dcr_ohm == pytest.approx(copper_wire_resistance_ohm(built.wire_length_m, diameter_m))
    assert brooks_coil(henry, 1.2 * diameter_m).dcr_ohm < built.dcr_ohm
