"""A network with free values is the same network, and its slopes are those of its values."""

import numpy as np
import pytest

from cross.test_network_against_ngspice import between, random_speaker
from forehear.ground.flowing import DriverImpedance
from forehear.network import Branch, Kind, Step, solve_network
from forehear.network.elements import Bank, Capacitor, Chain, Coil, Element, Resistor
from forehear.voice.circuit import circuit_of
from rooms.voices import GRID

SMALL = 1e-6  # step of logarithms for differences


def random_branches(random: np.random.Generator) -> tuple[list[Branch], DriverImpedance]:
    ways = random_speaker(random)
    names = tuple(str(number) for number in range(len(ways)))
    matrix = np.zeros((len(ways), len(ways), len(GRID)), dtype=complex)
    for number in range(len(ways)):
        matrix[number, number] = between(random, 3.0, 8.0) + 2j * np.pi * GRID.frequency_hz * between(
            random, 1e-5, 1e-3
        )
    branches = [
        Branch(name, (name,), way.steps, reversed=way.reversed) for name, way in zip(names, ways, strict=True)
    ]
    return branches, DriverImpedance(GRID, names, matrix)


def loads(impedance: DriverImpedance) -> np.ndarray:
    return np.einsum("iif->if", impedance.impedance_ohm)


@pytest.mark.parametrize("seed", range(8))
def test_the_circuit_is_the_network(seed: int) -> None:
    branches, impedance = random_branches(np.random.default_rng(seed))
    expected = solve_network(branches, impedance)
    circuit, values, losses = circuit_of(branches, loads(impedance), GRID.frequency_hz)
    answer = circuit.solve(values[np.newaxis], losses[np.newaxis])
    np.testing.assert_allclose(answer.volts[0], expected.voltage.volts_v, rtol=1e-9, atol=1e-15)
    np.testing.assert_allclose(1 / answer.admittance_s[0], expected.impedance_ohm, rtol=1e-9)


@pytest.mark.parametrize("seed", range(8))
def test_slopes_are_those_of_small_steps(seed: int) -> None:
    branches, impedance = random_branches(np.random.default_rng(seed))
    circuit, values, losses = circuit_of(branches, loads(impedance), GRID.frequency_hz)
    answer, slopes = circuit.solve_with_slopes(values, losses)
    up = SMALL * np.eye(len(values))
    powers = circuit.loss_power
    high = circuit.solve(values * np.exp(up), losses * np.exp(up * powers))
    low = circuit.solve(values * np.exp(-up), losses * np.exp(-up * powers))
    parts = np.arange(len(values))
    volts = (high.volts - low.volts)[parts, list(circuit.way_of)] / (2 * SMALL)
    scale = np.abs(answer.volts[0])[list(circuit.way_of)]
    assert np.max(np.abs(slopes.volts - volts) / (scale + np.abs(volts))) < 1e-6
    admittance = (high.admittance_s - low.admittance_s) / (2 * SMALL)
    assert np.max(np.abs(slopes.admittance_s - admittance)) < 1e-6 * np.max(np.abs(answer.admittance_s))


def test_many_networks_at_once_are_each_the_network() -> None:
    random = np.random.default_rng(3)
    branches, impedance = random_branches(random)
    circuit, values, losses = circuit_of(branches, loads(impedance), GRID.frequency_hz)
    others = values * np.exp(random.normal(0, 0.3, (5, len(values))))
    together = circuit.solve(others, np.tile(losses, (5, 1)))
    for number, own in enumerate(others):
        alone = circuit.solve(own[np.newaxis], losses[np.newaxis])
        np.testing.assert_array_equal(together.volts[number], alone.volts[0])


def test_a_part_of_nothing_is_refused() -> None:
    nothing: Element = Resistor(0.0)
    deep = Chain((Coil(1e-3), Bank((Capacitor(1e-6), nothing))))
    with pytest.raises(Exception, match="value zero"):
        circuit_of(
            [Branch("a", ("a",), (Step(Kind.SERIES, deep),))], np.full((1, 240), 8.0 + 0j), GRID.frequency_hz
        )
