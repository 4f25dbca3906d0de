"""Whole speakers against the circuit simulator ngspice, an independent solver by nodal analysis.

Every random speaker is a circuit of its own, many of them in a deck, solved by ``.ac``. A driver is a lumped
circuit: its voice coil, its mechanics, and the air of the box it may share, joined by controlled sources.
"""

import os
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.box import BlockedImpedance, Closed, DriverConstants, Enclosure, Vented, enclosure_response
from forehear.ground.air import Air
from forehear.ground.axes import FrequencyGrid
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
    solve_network,
)

DECKS = 4
SPEAKERS_PER_DECK = 60
MOST_PARTS = 20
RELATIVE = 1e-6
AIR = Air()
Random = np.random.Generator
Curves = dict[str, NDArray[np.complex128]]


@dataclass(frozen=True)
class Lumped:
    """A driver by its numbers alone."""

    re_ohm: float
    le_h: float
    l2_h: float
    r2_ohm: float
    bl_n_a: float
    mms_kg: float
    cms_m_n: float
    rms_kg_s: float
    sd_m2: float

    def constants(self, grid: FrequencyGrid) -> DriverConstants:
        coil = BlockedImpedance.two_inductances(self.re_ohm, self.le_h, self.l2_h, self.r2_ohm, grid)
        mechanics = (self.bl_n_a, self.mms_kg, self.cms_m_n, self.rms_kg_s, self.sd_m2)
        return DriverConstants(self.re_ohm, *mechanics, coil)


@dataclass(frozen=True)
class Way:
    steps: tuple[Step, ...]
    drivers: tuple[Lumped, ...]
    box: Enclosure | None
    wiring: Wiring
    reversed: bool


# A random speaker


def between(random: Random, low: float, high: float) -> float:
    """Draw a number evenly by its logarithm."""
    return float(np.exp(random.uniform(np.log(low), np.log(high))))


def random_part(random: Random) -> Element:
    match random.integers(3):
        case 0:
            return Resistor(between(random, 0.2, 100.0))
        case 1:
            return Coil(between(random, 5e-5, 1e-2), between(random, 0.02, 1.5))
        case _:
            return Capacitor(between(random, 5e-7, 5e-4), between(random, 0.005, 0.3))


def random_element(random: Random, parts: int) -> Element:
    if parts == 1:
        return random_part(random)
    cut = int(random.integers(1, parts))
    halves = (random_element(random, cut), random_element(random, parts - cut))
    return Chain(halves) if random.random() < 0.5 else Bank(halves)


def random_steps(random: Random, parts: int) -> tuple[Step, ...]:
    steps: list[Step] = []
    while parts > 0:
        taken = int(min(parts, random.integers(1, 4)))
        kind = Kind.SHUNT if steps and random.random() < 0.5 else Kind.SERIES
        steps.append(Step(kind, random_element(random, taken)))
        parts -= taken
    return tuple(steps)


def random_driver(random: Random) -> Lumped:
    mass_kg, omega = between(random, 3e-4, 0.04), 2 * np.pi * between(random, 30.0, 800.0)
    return Lumped(
        re_ohm=between(random, 3.0, 8.0),
        le_h=between(random, 1e-5, 5e-4),
        l2_h=between(random, 5e-5, 2e-3),
        r2_ohm=between(random, 0.5, 20.0),
        bl_n_a=between(random, 2.0, 12.0),
        mms_kg=mass_kg,
        cms_m_n=1 / (omega**2 * mass_kg),
        rms_kg_s=omega * mass_kg / between(random, 1.5, 10.0),
        sd_m2=between(random, 5e-4, 0.03),
    )


def random_box(random: Random) -> Enclosure | None:
    match random.integers(3):
        case 0:
            return None
        case 1:
            return Closed(between(random, 1e-3, 0.1))
        case _:
            area_m2, ql = between(random, 1e-3, 0.01), between(random, 4.0, 30.0)
            return Vented(between(random, 5e-3, 0.1), between(random, 25.0, 80.0), area_m2, ql)


def random_speaker(random: Random) -> list[Way]:
    ways = int(random.integers(1, 4))
    total = int(random.integers(ways, MOST_PARTS + 1))
    cuts = (
        np.sort(random.choice(np.arange(1, total), ways - 1, replace=False))
        if ways > 1
        else np.array([], int)
    )
    counts = np.diff([0, *cuts, total])
    return [
        Way(
            steps=random_steps(random, int(parts)),
            drivers=tuple(random_driver(random) for _ in range(random.integers(1, 4))),
            box=random_box(random),
            wiring=list(Wiring)[random.integers(2)],
            reversed=bool(random.random() < 0.5),
        )
        for parts in counts
    ]


# The same speaker as a circuit


@dataclass
class Deck:
    """Lines of a circuit, names that are never used twice, and what to keep of the solution."""

    lines: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)
    count: int = 0

    def node(self) -> str:
        self.count += 1
        return f"n{self.count}"

    def part(self, letter: str, *words: object) -> str:
        self.count += 1
        shown = (repr(float(word)) if isinstance(word, float) else str(word) for word in words)
        self.lines.append(" ".join((f"{letter}{self.count}", *shown)))
        return f"{letter}{self.count}"

    def meter(self, near: str, far: str) -> str:
        """Join two nodes by a source of 0 V, which tells the current from the first to the second."""
        name = self.part("v", near, far, 0.0)
        self.kept.append(f"i({name})")
        return name

    def element(self, element: Element, near: str, far: str) -> None:
        match element:
            case Resistor():
                self.part("r", near, far, element.ohm)
            case Coil():
                middle = self.node()
                self.part("r", near, middle, element.dcr_ohm)
                self.part("l", middle, far, element.henry)
            case Capacitor():
                middle = self.node()
                self.part("r", near, middle, element.esr_ohm)
                self.part("c", middle, far, element.farad)
            case Chain():
                nodes = [near, *(self.node() for _ in element.elements[1:]), far]
                for part, (start, end) in zip(element.elements, pairwise(nodes), strict=True):
                    self.element(part, start, end)
            case Bank():
                for part in element.elements:
                    self.element(part, near, far)

    def driver(self, driver: Lumped, terminals: tuple[str, str], air: str | None) -> str:
        """Write voice coil and mechanics, `air` the node of pressure; returns the meter of velocity."""
        plus, minus = terminals
        a, b, c, d = (self.node() for _ in range(4))
        current = self.meter(plus, a)
        self.part("r", a, b, driver.re_ohm)
        self.part("l", b, c, driver.le_h)
        self.part("l", c, d, driver.l2_h)
        self.part("r", c, d, driver.r2_ohm)
        push, moving, e, f, end = (self.node() for _ in range(5))
        self.part("h", push, 0, current, driver.bl_n_a)  # force
        velocity = self.meter(push, moving)
        self.part("h", d, minus, velocity, driver.bl_n_a)  # voltage of the motion
        self.part("l", moving, e, driver.mms_kg)
        self.part("r", e, f, driver.rms_kg_s)
        self.part("c", f, end, driver.cms_m_n)
        if air is None:
            self.part("v", end, 0, 0.0)
        else:
            self.part("e", end, 0, air, 0, -driver.sd_m2)  # the pressure behind helps forward motion
            self.part("f", air, 0, velocity, driver.sd_m2)  # which takes air out of the box
        return velocity

    def box(self, box: Enclosure) -> tuple[str, str | None]:
        """Write the air of a box; returns its node of pressure and the meter of flow of its port, if any."""
        air, stiffness = self.node(), AIR.density_kg_m3 * AIR.sound_speed_m_s**2 / box.volume_m3
        self.part("c", air, 0, 1 / stiffness)
        if isinstance(box, Closed):
            return air, None
        out, omega = self.node(), 2 * np.pi * box.tuned_hz
        flow = self.meter(air, out)
        self.part("l", out, 0, stiffness / omega**2)
        self.part("r", out, 0, box.ql * stiffness / omega)
        return air, flow

    def solved(self, ngspice: Path, folder: Path) -> Curves:
        text = [
            "* random speakers",
            *self.lines,
            ".options noopac",  # needless for linear circuits, and nodes behind capacitors have none
            ".ac dec 6 20 20k",
            f".save {' '.join(self.kept)}",
            ".end",
        ]
        (folder / "deck.cir").write_text("\n".join(text) + "\n")
        command = [str(ngspice), "-n", "-b", "-r", "deck.raw", "deck.cir"]
        at_home = {
            **os.environ,
            "HOME": str(folder),
        }  # without a home ngspice falls over; its settings stay out too
        run = subprocess.run(
            command, cwd=folder, env=at_home, capture_output=True, text=True, check=False, timeout=60
        )
        assert (folder / "deck.raw").exists(), run.stdout + run.stderr
        return read_raw((folder / "deck.raw").read_bytes())


def read_raw(content: bytes) -> Curves:
    """Read a binary raw file of complex numbers: a head of text, then points x variables."""
    head, _, body = content.partition(b"Binary:\n")
    lines = head.decode().splitlines()
    sizes = {line.partition(":")[0]: line.partition(":")[2].strip() for line in lines}
    variables, points = int(sizes["No. Variables"]), int(sizes["No. Points"])
    first = lines.index("Variables:") + 1
    names = [line.split()[1].lower() for line in lines[first : first + variables]]
    table = np.frombuffer(body, dtype=np.complex128, count=points * variables).reshape(points, variables)
    return dict(zip(names, table.T, strict=True))


@dataclass(frozen=True)
class Meters:
    """Where the answers of one speaker are found in the solution of a deck."""

    supply: str
    terminals: list[tuple[str, str]]  # driver by driver, plus and minus
    velocities: list[str]
    ports: list[tuple[str, float]]  # meter of flow and area, way by way


def write_speaker(deck: Deck, ways: Sequence[Way]) -> Meters:
    top = deck.node()
    found = Meters(deck.part("v", top, 0, "dc", 0, "ac", 1), [], [], [])
    deck.kept.append(f"i({found.supply})")
    for way in ways:
        at = top
        for step in way.steps:
            if step.kind is Kind.SERIES:
                start, at = at, deck.node()
                deck.element(step.element, start, at)
            else:
                deck.element(step.element, at, "0")
        air, flow = (None, None) if way.box is None else deck.box(way.box)
        if flow is not None and isinstance(way.box, Vented):
            found.ports.append((flow, way.box.port_area_m2))
        for driver, terminals in zip(way.drivers, ends_of_drivers(deck, way, at), strict=True):
            deck.kept.extend(f"v({node})" for node in terminals if node != "0")
            found.velocities.append(deck.driver(driver, terminals, air))
            found.terminals.append(terminals)
    return found


def ends_of_drivers(deck: Deck, way: Way, at: str) -> list[tuple[str, str]]:
    count = len(way.drivers)
    if way.wiring is Wiring.PARALLEL:
        ends = [(at, "0")] * count
    else:
        nodes = [at, *(deck.node() for _ in range(count - 1)), "0"]
        ends = list(pairwise(nodes))
    return [(end, start) for start, end in ends] if way.reversed else ends


# The same speaker by this project


def predicted(ways: Sequence[Way], grid: FrequencyGrid) -> tuple[NDArray[np.complex128], ...]:
    """Impedance, volts at the drivers, velocities of their diaphragms and of the ports."""
    size = sum(len(way.drivers) for way in ways)
    matrix = np.zeros((size, size, len(grid)), dtype=np.complex128)
    branches, motions, names = [], [], [f"driver {number}" for number in range(size)]
    for number, way in enumerate(ways):
        first = sum(len(done.drivers) for done in ways[:number])
        rows = slice(first, first + len(way.drivers))
        constants = [driver.constants(grid) for driver in way.drivers]
        motion, impedance = enclosure_response(constants, names[rows], way.box, grid, AIR)
        matrix[rows, rows] = impedance.impedance_ohm
        motions.append((rows, motion.velocity_m_s_v))
        branches.append(Branch(str(number), tuple(names[rows]), way.steps, way.wiring, way.reversed))
    found = solve_network(branches, DriverImpedance(grid, tuple(names), matrix))
    volts = found.voltage.volts_v
    moved = [np.einsum("sdf,df->sf", velocity, volts[rows]) for rows, velocity in motions]
    cones = np.concatenate([some[: len(way.drivers)] for some, way in zip(moved, ways, strict=True)])
    ports = np.concatenate([some[len(way.drivers) :] for some, way in zip(moved, ways, strict=True)])
    return found.impedance_ohm, volts, cones, ports


def measured(curves: Curves, meters: Meters) -> tuple[NDArray[np.complex128], ...]:
    """Read the same four off the solved circuit."""
    silent = np.zeros_like(curves["frequency"])
    volts = [
        curves.get(f"v({plus})", silent) - curves.get(f"v({minus})", silent)
        for plus, minus in meters.terminals
    ]
    ports = [curves[f"i({flow})"] / area_m2 for flow, area_m2 in meters.ports]
    return (
        -1 / curves[f"i({meters.supply})"],
        np.array(volts),
        np.array([curves[f"i({name})"] for name in meters.velocities]),
        np.array(ports).reshape(-1, silent.size),
    )


@pytest.mark.parametrize("seed", range(DECKS))
def test_random_speakers(seed: int, ngspice: Path, tmp_path: Path) -> None:
    random, deck = np.random.default_rng(seed), Deck()
    speakers = [random_speaker(random) for _ in range(SPEAKERS_PER_DECK)]
    meters = [write_speaker(deck, ways) for ways in speakers]
    curves = deck.solved(ngspice, tmp_path)
    grid = FrequencyGrid(curves["frequency"].real)
    for ways, places in zip(speakers, meters, strict=True):
        for ours, theirs in zip(predicted(ways, grid), measured(curves, places), strict=True):
            assert ours.shape == theirs.shape
            np.testing.assert_allclose(ours, theirs, rtol=RELATIVE)
