"""Closed and vented boxes at small signals: how diaphragms and ports move, and the drivers' impedance."""

from forehear.box.constants import BlockedImpedance, DriverConstants
from forehear.box.enclosures import (
    Closed,
    Enclosure,
    Vented,
    air_admittance,
    effective_port_length_m,
    port_admittance,
    port_length_m,
)
from forehear.box.response import enclosure_response, excursion_m_v, small_source_pressure_pa

__all__ = [
    "BlockedImpedance",
    "Closed",
    "DriverConstants",
    "Enclosure",
    "Vented",
    "air_admittance",
    "effective_port_length_m",
    "enclosure_response",
    "excursion_m_v",
    "port_admittance",
    "port_length_m",
    "small_source_pressure_pa",
]
