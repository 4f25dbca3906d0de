"""Networks that are known are found again: textbook alignments as targets, starts far away.

The targets are LR2, LR4 and Butterworth networks by the normalised values of textbooks (tests/published holds their
ladders against the closed forms), on resistors and on drivers in a box.
"""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray
from forehear.network import Branch, Capacitor, Coil, Element, Kind, Step, nearest_preferred
from forehear.parts import CapacitorPart, CoilPart, ComponentPart
from forehear.voice.choosing import Shelf, choose
from forehear.voice.circuit import Sort, circuit_of
from forehear.voice.descent import Valley, Watch, space_of, valleys
from forehear.voice.shop import RANGES, Shop
from rooms.attic import situation
from rooms.voices import GRID, evaluator_for, volts_of

LOW = {  # normalised to 1 ohm and 1 rad/s: coil, capacitor, coil, ... from the amplifier
    "BW1": (1.0,),
    "BW2": (np.sqrt(2), 1 / np.sqrt(2)),
    "BW3": (1.5, 4 / 3, 0.5),
    "LR2": (2.0, 0.5),
    "LR4": (1.8856180831641267, 1.5909902576697319, 0.9428090415820634, 0.35355339059327373),
}
FAR = 3.0  # starts lie up to this factor from what is sought
CLOSE_DB = 0.2
Load = NDArray[np.complex128]


def network(family: str, ohm: float, hz: float, *, preferred: bool = False) -> list[Branch]:
    """Two ways of one family into one resistance, as a textbook has them."""
    omega = 2 * np.pi * hz

    def real(value: float) -> float:
        return nearest_preferred(value, "E24") if preferred else value

    low: list[Element] = []
    high: list[Element] = []
    for place, value in enumerate(LOW[family]):
        if place % 2:
            low.append(Capacitor(real(value / (ohm * omega))))
            high.append(Coil(real(ohm / (value * omega))))
        else:
            low.append(Coil(real(value * ohm / omega)))
            high.append(Capacitor(real(1 / (value * ohm * omega))))
    kinds = (Kind.SERIES, Kind.SHUNT)
    return [
        Branch(name, (name,), tuple(Step(kinds[place % 2], part) for place, part in enumerate(parts)))
        for name, parts in (("low", low), ("high", high))
    ]


def resistors() -> Load:
    return np.full((2, len(GRID)), 8.0 + 0j)


def drivers() -> Load:
    impedance = situation("stack").speaker.impedance.impedance_ohm
    return np.stack([impedance[0, 0], impedance[1, 1]])


def found_values(branches: list[Branch], load: Load, seed: int) -> tuple[ComplexArray, NDArray[np.float64]]:
    """Search from far away; give the responses and values found."""
    evaluator = evaluator_for(branches, load, branches)
    circuit, values, losses = circuit_of(branches, load, GRID.frequency_hz)
    random = np.random.default_rng(seed)
    far = values * np.exp(random.uniform(-np.log(FAR), np.log(FAR), len(values)))
    ranges = [RANGES[sort] for sort in circuit.sorts]
    space = space_of(evaluator, far, losses, range(len(values)), ranges)
    found: list[Valley] = []
    valleys(evaluator, space, random, Watch(), found)
    best = min(found, key=lambda one: one.goal_db)
    own, lost = space.filled(best.x)
    answer = evaluator.with_polarity(best.polarity).circuit.solve(own[np.newaxis], lost[np.newaxis])
    return answer.volts[0], own


@pytest.mark.parametrize("load", [resistors, drivers], ids=["resistors", "drivers"])
@pytest.mark.parametrize("family", LOW)
def test_a_textbook_network_is_found_again(family: str, load: Callable[[], Load]) -> None:
    branches = network(family, 8.0, 2000.0)
    volts, _ = found_values(branches, load(), seed=5)
    wanted = volts_of(branches, load())
    within = (GRID.frequency_hz > 200) & (GRID.frequency_hz < 10e3)
    away_db = 20 * np.log10(np.abs(volts / wanted))[:, within]
    assert np.max(np.abs(away_db - away_db.mean())) < CLOSE_DB, family


@pytest.mark.parametrize("family", ["BW2", "LR2", "LR4"])
def test_preferred_parts_are_found_again(family: str) -> None:
    branches = network(family, 8.0, 2000.0, preferred=True)
    load = resistors()
    evaluator = evaluator_for(branches, load, branches)
    circuit, values, losses = circuit_of(branches, load, GRID.frequency_hz)
    space = space_of(
        evaluator, values * 1.7, losses, range(len(values)), [RANGES[sort] for sort in circuit.sorts]
    )
    watch = Watch()
    found: list[Valley] = []
    valleys(evaluator, space, np.random.default_rng(1), watch, found, turned=False)
    valley = min(found, key=lambda one: one.goal_db)
    like: dict[Sort, ComponentPart] = {
        Sort.COIL: CoilPart(1e-3, dcr_ohm=0.0),
        Sort.CAPACITOR: CapacitorPart(1e-6),
    }
    shelf = Shelf(tuple(Shop("E24").offers(like[sort]) for sort in circuit.sorts))
    choice = choose(evaluator, space, valley, shelf, watch)
    chosen = [shelf.offers[part][number].value for part, number in enumerate(choice.picks)]
    own_db = float(evaluator.goals(values[np.newaxis], losses[np.newaxis])[0])
    assert choice.goal_db <= own_db + 1e-9
    np.testing.assert_allclose(chosen, values, rtol=0.11)  # the same, or a step of E24 away
