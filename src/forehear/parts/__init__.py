"""Drivers and network components as data: their files, what follows, and whether they hold together."""

from forehear.parts.agreement import check_driver
from forehear.parts.components import CapacitorPart, CoilPart, ComponentPart, ResistorPart, read_component
from forehear.parts.driver import DriverPart, MeasuredResponse, VoiceCoil, driver_from, load_driver
from forehear.parts.driver_file import DriverFile
from forehear.parts.stock import Stock, load_stock

__all__ = [
    "CapacitorPart",
    "CoilPart",
    "ComponentPart",
    "DriverFile",
    "DriverPart",
    "MeasuredResponse",
    "ResistorPart",
    "Stock",
    "VoiceCoil",
    "check_driver",
    "driver_from",
    "load_driver",
    "load_stock",
    "read_component",
]
