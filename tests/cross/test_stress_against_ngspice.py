"""Voltage, current and power of every part against the circuit simulator ngspice, on random networks."""

from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from cross.test_network_against_ngspice import Deck, between, random_speaker
from forehear.ground.axes import FrequencyGrid
from forehear.network import Bank, Branch, Capacitor, Chain, Coil, Element, Kind, Resistor
from forehear.voice.circuit import circuit_of
from forehear.voice.programme import programme_share
from forehear.voice.stress import part_volts_amperes

SPEAKERS = 40
RELATIVE = 1e-6


@dataclass
class Metered(Deck):
    """A deck whose every part has a meter and two nodes that are kept."""

    found: list[tuple[str, str, str]] = field(default_factory=list)  # meter, near, far of each part

    def element(self, element: Element, near: str, far: str) -> None:
        match element:
            case Chain():
                nodes = [near, *(self.node() for _ in element.elements[1:]), far]
                for part, (start, end) in zip(element.elements, pairwise(nodes), strict=True):
                    self.element(part, start, end)
            case Bank():
                for part in element.elements:
                    self.element(part, near, far)
            case Resistor() | Coil() | Capacitor():
                start = self.node()
                self.found.append((self.meter(near, start), start, far))
                self.kept.extend(f"v({node})" for node in (start, far) if node != "0")
                super().element(element, start, far)


@pytest.mark.parametrize("seed", range(2))
def test_every_part_of_random_networks(seed: int, ngspice: Path, tmp_path: Path) -> None:
    random, deck = np.random.default_rng(100 + seed), Metered()
    speakers = []
    for _ in range(SPEAKERS):
        ways = random_speaker(random)
        loads = [(between(random, 3.0, 8.0), between(random, 1e-5, 1e-3)) for _ in ways]
        top, first = deck.node(), len(deck.found)
        deck.part("v", top, 0, "dc", 0, "ac", 1)
        for way, (ohm, henry) in zip(ways, loads, strict=True):
            at = top
            for step in way.steps:
                start, end = (at, deck.node()) if step.kind is Kind.SERIES else (at, "0")
                deck.element(step.element, start, end)
                at = end if step.kind is Kind.SERIES else at
            middle = deck.node()
            deck.part("r", at, middle, ohm)
            deck.part("l", middle, 0, henry)
        speakers.append((ways, loads, deck.found[first:]))
    curves = deck.solved(ngspice, tmp_path)
    grid = FrequencyGrid(curves["frequency"].real)
    silent = np.zeros(len(grid), dtype=complex)
    share = programme_share(grid)
    for ways, loads, meters in speakers:
        load = np.array([ohm + 2j * np.pi * grid.frequency_hz * henry for ohm, henry in loads])
        branches = [Branch(str(number), (str(number),), way.steps) for number, way in enumerate(ways)]
        circuit, values, losses = circuit_of(branches, load, grid.frequency_hz)
        volts, amperes = part_volts_amperes(circuit, values, losses)
        theirs_a = np.array([curves[f"i({name})"] for name, _, _ in meters])
        theirs_v = np.array(
            [curves[f"v({near})"] - curves.get(f"v({far})", silent) for _, near, far in meters]
        )
        scale = np.abs(theirs_v).max(axis=1, keepdims=True)
        np.testing.assert_allclose(amperes, theirs_a, rtol=RELATIVE, atol=1e-12)
        assert np.max(np.abs(volts - theirs_v) / scale) < RELATIVE
        ours_w, theirs_w = (
            np.einsum("pf,f->p", (v * i.conj()).real, share)
            for v, i in ((volts, amperes), (theirs_v, theirs_a))
        )
        np.testing.assert_allclose(ours_w, theirs_w, rtol=1e-5, atol=1e-9)


def test_all_that_goes_in_is_used_up() -> None:
    """Power of parts and loads together is that drawn at the terminals (Tellegen)."""
    random = np.random.default_rng(7)
    grid = FrequencyGrid.standard()
    ways = random_speaker(random)
    load = np.array([between(random, 3.0, 8.0) + 0j * grid.frequency_hz for _ in ways])
    branches = [Branch(str(number), (str(number),), way.steps) for number, way in enumerate(ways)]
    circuit, values, losses = circuit_of(branches, load, grid.frequency_hz)
    volts, amperes = part_volts_amperes(circuit, values, losses)
    answer = circuit.solve(values[np.newaxis], losses[np.newaxis])
    used = (volts * amperes.conj()).real.sum(axis=0) + (np.abs(answer.volts[0]) ** 2 / load.real).sum(axis=0)
    np.testing.assert_allclose(used, answer.admittance_s[0].real, rtol=1e-9)
