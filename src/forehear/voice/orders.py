"""Networks from nothing: every way a ladder of some order, its first values those of Butterworth filters."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product

import numpy as np

from forehear.design import NetworkPart, NetworkStep, Way
from forehear.parts import CapacitorPart, CoilPart, ComponentPart, ResistorPart
from forehear.spine.crossings import crossings_hz
from forehear.spine.live import Live
from forehear.spine.situation import Situation
from forehear.voice.layout import Layout
from forehear.voice.listening import way_rows
from forehear.voice.shop import RATING_W, USUAL_WIRE_M

BUTTERWORTH = {  # coil, capacitor, coil, ... from the amplifier into 1 ohm at 1 rad/s
    1: (1.0,),
    2: (math.sqrt(2), 1 / math.sqrt(2)),
    3: (1.5, 4 / 3, 0.5),
    4: (1.5307337294603591, 1.5771610149898243, 1.0823922002923940, 0.38268343236508977),
}
OVER_RESONANCE = 2.5  # where two ways are met first when they do not cross yet
PAD_OHM = 1.0


def ladder(
    order: int, load_ohm: float, corner_hz: float, *, high_pass: bool
) -> list[tuple[str, ComponentPart]]:
    """Give the parts of a Butterworth ladder, amplifier first.

    Parameters
    ----------
    order
        1 to 4. [-]
    load_ohm
        Resistance it is made for. [ohm]
    corner_hz
        Where it is 3 dB down. [Hz]
    high_pass
        Whether it lets through what is above. [-]

    Returns
    -------
    list
        "series" or "shunt", and the part. [H, F]

    Source
    ------
    zverev-1967, singly terminated Butterworth ladders, from memory; held against the closed form of the polynomial.

    Examples
    --------
    >>> (_, coil), (_, capacitor) = ladder(2, 8.0, 2500.0, high_pass=False)
    >>> print(f"{1e3 * coil.inductance_h:.3f} mH, {1e6 * capacitor.capacitance_f:.2f} uF")
    0.720 mH, 5.63 uF
    """
    omega = 2 * math.pi * corner_hz
    found: list[tuple[str, ComponentPart]] = []
    for place, value in enumerate(BUTTERWORTH[order]):
        scaled = 1 / value if high_pass else value
        kind = "shunt" if place % 2 else "series"
        if high_pass == (place % 2 == 0):  # a capacitor
            farad = scaled / (load_ohm * omega)
            found.append((kind, CapacitorPart(farad)))
        else:
            found.append((kind, CoilPart(scaled * load_ohm / omega, wire_m=USUAL_WIRE_M)))
    return found


def layouts_of_orders(situation: Situation, orders: Sequence[int]) -> Iterator[Layout]:
    """Give a layout for every way of taking these orders: low passes, high passes, and pads in all but the lowest."""
    ways = situation.design.ways
    corners = crossing_guesses_hz(situation)
    loads = _loads_ohm(situation)
    sides = 2 * (len(ways) - 1)  # a low pass and a high pass at every crossing
    for taken in product(sorted(set(orders)), repeat=sides):
        networks = []
        for number in range(len(ways)):
            parts: list[tuple[str, ComponentPart]] = []
            if number > 0:
                high = taken[2 * number - 1]
                parts += ladder(high, loads[number], corners[number - 1], high_pass=True)
            if number < len(ways) - 1:
                parts += ladder(taken[2 * number], loads[number], corners[number], high_pass=False)
            if number > 0:
                parts.append(("series", ResistorPart(PAD_OHM, RATING_W)))
            networks.append(parts)
        yield Layout(tuple(_with(way, parts) for way, parts in zip(ways, networks, strict=True)))


def crossing_guesses_hz(situation: Situation) -> list[float]:
    """Where the ways cross now, else somewhat above the resonance of the upper one."""
    live = Live(situation)
    now = crossings_hz(live.way_db, situation.grid)
    found = []
    for hz, way in zip(now, situation.design.ways[1:], strict=True):
        part = situation.design.driver[way.drivers[0]].part
        found.append(hz if hz is not None else OVER_RESONANCE * part.small_signal.fs_hz)
    return found


def _loads_ohm(situation: Situation) -> list[float]:
    """Give the least impedance of the drivers of each way."""
    impedance = situation.speaker.impedance.impedance_ohm
    found = []
    for rows, way in zip(way_rows(situation.speaker), situation.design.ways, strict=True):
        own = np.array([np.abs(impedance[row, row]).min() for row in rows])
        found.append(float(1 / (1 / own).sum() if way.wired == "parallel" else own.sum()))
    return found


def _with(way: Way, parts: Sequence[tuple[str, ComponentPart]]) -> Way:
    steps = tuple(NetworkStep(kind, NetworkPart(part, ()), ()) for kind, part in parts)
    return replace(way, network=steps)
