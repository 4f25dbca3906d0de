"""Passive crossover networks: parts, branches, their exact solution, and what coils and values come to."""

from forehear.network.coils import (
    CoilBuild,
    brooks_coil,
    brooks_inductance_h,
    copper_wire_resistance_ohm,
    multilayer_inductance_h,
    single_layer_inductance_h,
)
from forehear.network.elements import (
    Bank,
    Capacitor,
    Chain,
    Coil,
    Element,
    Kind,
    Resistor,
    Step,
    element_impedance,
)
from forehear.network.ladder import (
    Branch,
    BranchSolution,
    NetworkSolution,
    Wiring,
    solve_branch,
    solve_network,
    wire_drivers,
)
from forehear.network.preferred import nearest_preferred, next_preferred, preferred_values

__all__ = [
    "Bank",
    "Branch",
    "BranchSolution",
    "Capacitor",
    "Chain",
    "Coil",
    "CoilBuild",
    "Element",
    "Kind",
    "NetworkSolution",
    "Resistor",
    "Step",
    "Wiring",
    "brooks_coil",
    "brooks_inductance_h",
    "copper_wire_resistance_ohm",
    "element_impedance",
    "multilayer_inductance_h",
    "nearest_preferred",
    "next_preferred",
    "preferred_values",
    "single_layer_inductance_h",
    "solve_branch",
    "solve_network",
    "wire_drivers",
]
