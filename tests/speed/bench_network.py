"""How long boxes and a network take: a three-way of 14 parts with two coupled woofers, 240 bands.

Run as ``python tests/speed/bench_network.py``. Prints milliseconds, and ratios against a yardstick timed in
the same run: one dense nodal solution of a network this size, 240 matrices of 10 nodes.
"""

import time
from collections.abc import Callable

import numpy as np

from forehear.box import BlockedImpedance, Closed, DriverConstants, Vented, enclosure_response
from forehear.ground.air import Air
from forehear.ground.axes import FrequencyGrid
from forehear.ground.flowing import DriverImpedance
from forehear.network import Branch, Capacitor, Chain, Coil, Element, Kind, Resistor, Step, solve_network

GRID = FrequencyGrid.standard()
REPEATS = 60
WOOFER = DriverConstants(
    6.2, 6.5, 0.0145, 1.05e-3, 0.95, 0.0133, BlockedImpedance.leach(6.2, 0.02, 0.65, GRID)
)
DOME = DriverConstants(5.6, 3.0, 0.0004, 1.2e-4, 0.5, 0.0008, BlockedImpedance.plain(5.6, 3e-5, GRID))


def series(element: Element) -> Step:
    return Step(Kind.SERIES, element)


def shunt(element: Element) -> Step:
    return Step(Kind.SHUNT, element)


LOW = (
    series(Coil(3.3e-3, 0.4)),
    shunt(Chain((Capacitor(68e-6), Resistor(3.3)))),
    series(Coil(1.0e-3, 0.2)),
    shunt(Capacitor(22e-6)),
)
MIDDLE = (
    series(Capacitor(47e-6)),
    shunt(Coil(2.2e-3, 0.5)),
    series(Coil(0.47e-3, 0.2)),
    shunt(Capacitor(6.8e-6)),
    series(Resistor(1.8)),
)
HIGH = (series(Capacitor(5.6e-6)), shunt(Coil(0.33e-3, 0.3)), series(Resistor(2.7)), shunt(Resistor(10.0)))
NAMES = ("woofer left", "woofer right", "midrange", "dome")
BRANCHES = (
    Branch("low", NAMES[:2], LOW),
    Branch("middle", NAMES[2:3], MIDDLE),
    Branch("high", NAMES[3:], HIGH, reversed=True),
)


def boxes() -> DriverImpedance:
    """Impedance of two woofers that share a vented box, a midrange in a closed one, and a dome."""
    matrix = np.zeros((4, 4, len(GRID)), dtype=np.complex128)
    for rows, drivers, box in (
        (slice(0, 2), [WOOFER, WOOFER], Vented(0.040, 40.0, 0.004)),
        (slice(2, 3), [WOOFER], Closed(0.004)),
        (slice(3, 4), [DOME], None),
    ):
        _, found = enclosure_response(drivers, NAMES[rows], box, GRID, Air())
        matrix[rows, rows] = found.impedance_ohm
    return DriverImpedance(GRID, NAMES, matrix)


def best_ms(work: Callable[[], object]) -> float:
    """Shortest of several runs [ms]: the machine has neighbours."""
    spent = []
    for _ in range(REPEATS):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return 1000 * min(spent)


def main() -> None:
    random = np.random.default_rng(0)
    nodes = random.normal(size=(len(GRID), 10, 10)) + 1j * random.normal(size=(len(GRID), 10, 10))
    source = np.ones((len(GRID), 10, 1))
    yardstick = best_ms(lambda: np.linalg.solve(nodes, source))
    print(f"yardstick: 240 nodal matrices of 10  {yardstick:7.3f} ms")
    impedance = boxes()
    for title, work in (
        ("network, 14 parts, 4 drivers", lambda: solve_network(BRANCHES, impedance)),
        ("boxes of all 4 drivers", boxes),
    ):
        spent = best_ms(work)
        print(f"{title:36s} {spent:7.3f} ms, {spent / yardstick:5.2f} of the yardstick")


if __name__ == "__main__":
    main()
