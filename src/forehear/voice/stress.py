"""What every part and driver bears while a programme plays, and what gives out first.

Voltages and currents are those of one steady circuit; powers are means over the programme's spectrum. Nothing here
knows how parts warm each other, how a voice coil's resistance rises, or how music differs from the noise.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from forehear.design import Design
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.network import Kind
from forehear.parts import CapacitorPart, ComponentPart, ResistorPart
from forehear.spine.speaker import Speaker
from forehear.voice.amplifier import Load, load_of
from forehear.voice.circuit import Circuit, Joined, Slot, Tree, rung_states, tree_impedance
from forehear.voice.evaluator import Evaluator
from forehear.voice.layout import Layout, evaluator_for
from forehear.voice.listening import driver_current, way_shares
from forehear.voice.programme import CREST, programme_share

# What parts bear where they do not say; common practice, no source.
RESISTOR_W, FILM_V, ELECTROLYTIC_V = 10.0, 100.0, 50.0
LOADED = 0.5  # of its rating, over which a resistor runs hot for long
FULL_RISE_K = (
    250.0  # of a wound resistor's surface at its full rating in free air; data sheets of the kind, estimated
)
PLASTIC_RISE_K = 25.0  # that a printed wall of PLA stands above a warm room (it softens near 55 to 60 C)
NEAR_M = 0.010
FAR_M = 0.030


@dataclass(frozen=True)
class PartStress:
    """What one part bears at the stated voltage; rms unless it says peak."""

    name: str
    component: ComponentPart
    volts_v: float
    peak_v: float
    amperes_a: float
    peak_a: float
    power_w: float
    gives_out_v: float | None  # programme voltage at which its rating is reached; None where it has none
    limit: str  # which rating that is


@dataclass(frozen=True)
class DriverStress:
    """What one driver bears."""

    name: str
    volts_v: float
    power_w: float  # electric, into its terminals
    peak_m: float
    thermal_v: float | None  # programme voltage at which its rated power is reached
    excursion_v: float | None


@dataclass(frozen=True)
class Stress:
    """Everything that is borne at one programme voltage."""

    voltage_v: float
    parts: tuple[PartStress, ...]
    drivers: tuple[DriverStress, ...]
    load: Load
    first: str  # what gives out first, in words
    first_v: float


def stress_of(design: Design, speaker: Speaker, layout: Layout, like: Evaluator, voltage_v: float) -> Stress:
    """Load a design with programme noise.

    Parameters
    ----------
    design, speaker
        With their drivers.
    layout
        Its network.
    like
        An evaluator of the same speaker.
    voltage_v
        Rms of the noise at the terminals. [V]

    Source
    ------
    iec-60268-5, from memory: programme noise of IEC 60268-1 as the load; ratings as the parts state them.
    """
    evaluator, values, losses = evaluator_for(layout, like)
    circuit = evaluator.circuit
    share = programme_share(speaker.grid)
    volts, amperes = part_volts_amperes(circuit, values, losses)
    parts = tuple(
        _part_stress(name, part.component, volts[number], amperes[number], share * voltage_v**2)
        for number, (name, part) in enumerate(zip(layout.names, layout.parts, strict=True))
    )
    answer = circuit.solve(values[np.newaxis], losses[np.newaxis])
    drivers = tuple(_drivers(design, speaker, answer.volts[0], share, voltage_v))
    load = load_of(1 / answer.admittance_s[0], speaker.grid.frequency_hz)
    first, first_v = _first(parts, drivers)
    return Stress(voltage_v, parts, drivers, load, first, first_v)


def part_volts_amperes(
    circuit: Circuit, values: FloatArray, losses_ohm: FloatArray
) -> tuple[ComplexArray, ComplexArray]:
    """Voltage over each part, its loss included, and current through it, per volt at the terminals.

    Returns
    -------
    volts, amperes
        [part, frequency].
    """
    impedances = circuit.impedances(values, losses_ohm)
    amperes: ComplexArray = np.zeros_like(impedances)
    for way, rungs in enumerate(circuit.ways):
        steps = [tree_impedance(rung.tree, impedances) for rung in rungs]
        states = rung_states(rungs, steps, circuit.load_ohm[way])
        needed = states[0][0]
        for rung, z, (v, i) in zip(rungs, steps, states[1:], strict=True):
            through = i / needed if rung.kind is Kind.SERIES else v / needed / z
            _share_current(rung.tree, through, impedances, amperes)
    return amperes * impedances, amperes


def _share_current(
    tree: Tree, through: ComplexArray, impedances: ComplexArray, amperes: ComplexArray
) -> None:
    """Let a current run through a tree of parts."""
    if isinstance(tree, Slot):
        amperes[tree.part] = through
        return
    assert isinstance(tree, Joined)
    whole = tree_impedance(tree, impedances)
    for inner in tree.inner:
        own = through * whole / tree_impedance(inner, impedances) if tree.side_by_side else through
        _share_current(inner, own, impedances, amperes)


def _part_stress(
    name: str, component: ComponentPart, volts: ComplexArray, amperes: ComplexArray, power_v2: FloatArray
) -> PartStress:
    volts_v, amperes_a = (float(np.sqrt(np.abs(each) ** 2 @ power_v2)) for each in (volts, amperes))
    power_w = float((volts * amperes.conj()).real @ power_v2)
    used, limit = _used(component, CREST * volts_v, power_w)
    terminals_v = float(np.sqrt(power_v2.sum()))
    return PartStress(
        name=name,
        component=component,
        volts_v=volts_v,
        peak_v=CREST * volts_v,
        amperes_a=amperes_a,
        peak_a=CREST * amperes_a,
        power_w=power_w,
        gives_out_v=terminals_v / used if used else None,
        limit=limit,
    )


def _used(component: ComponentPart, peak_v: float, power_w: float) -> tuple[float, str]:
    """Share of its rating that is used, as a share of the voltage; 0 where nothing is rated."""
    if isinstance(component, ResistorPart):
        rating_w = component.rating_w or RESISTOR_W
        return float(np.sqrt(power_w / rating_w)), f"its {rating_w:g} W"
    if isinstance(component, CapacitorPart):
        usual_v = ELECTROLYTIC_V if component.electrolytic else FILM_V
        rated_v = component.rated_v or usual_v
        return peak_v / rated_v, f"its {rated_v:g} V"
    return 0.0, ""


def _drivers(
    design: Design, speaker: Speaker, way_volts: ComplexArray, share: FloatArray, voltage_v: float
) -> Iterator[DriverStress]:
    shares = way_shares(speaker)
    volts = np.einsum("iwf,wf->if", shares, way_volts)
    amperes = np.einsum("iwf,wf->if", driver_current(speaker, shares), way_volts)
    omega = 2 * np.pi * speaker.grid.frequency_hz
    moved = np.abs(np.einsum("sif,if->sf", speaker.motion.velocity_m_s_v, volts)) / omega
    for row, name in enumerate(speaker.drivers):
        part = design.driver[name].part
        power_w = float((volts[row] * amperes[row].conj()).real @ share) * voltage_v**2
        peak_m = CREST * voltage_v * float(np.sqrt(moved[row] ** 2 @ share))
        rated_w = part.file.power.long_term if part.file.power else None
        yield DriverStress(
            name=name,
            volts_v=voltage_v * float(np.sqrt(np.abs(volts[row]) ** 2 @ share)),
            power_w=power_w,
            peak_m=peak_m,
            thermal_v=voltage_v * float(np.sqrt(rated_w / power_w)) if rated_w else None,
            excursion_v=voltage_v * part.xmax_m / peak_m if part.xmax_m else None,
        )


def _first(parts: tuple[PartStress, ...], drivers: tuple[DriverStress, ...]) -> tuple[str, float]:
    """Give what gives out first, in words, and at which programme voltage."""
    found = [(one.gives_out_v, f"{one.name} reaches {one.limit}") for one in parts if one.gives_out_v]
    found += [(one.thermal_v, f"{one.name} reaches its rated power") for one in drivers if one.thermal_v]
    found += [(one.excursion_v, f"{one.name} reaches its Xmax") for one in drivers if one.excursion_v]
    if not found:
        return "nothing that has a rating", float("inf")
    voltage, words = min(found)
    return words, voltage


def heat_words(stress: PartStress) -> str:
    """Warn of a resistor that runs hot, and how near plastic it may sit; nothing where it stays cool."""
    if not isinstance(stress.component, ResistorPart):
        return ""
    rating_w = stress.component.rating_w or RESISTOR_W
    rise_k = FULL_RISE_K * stress.power_w / rating_w
    if rise_k < PLASTIC_RISE_K:
        return ""
    distance_m = FAR_M if stress.power_w > LOADED * rating_w else NEAR_M
    over = " It is over its rating." if stress.power_w > rating_w else ""
    return (
        f"{stress.name} takes {stress.power_w:.1f} W and gets about {rise_k:.0f} K warmer than the air around it "
        f"(estimated): keep {1e3 * distance_m:.0f} mm to printed plastic and wires, and let air pass.{over}"
    )
