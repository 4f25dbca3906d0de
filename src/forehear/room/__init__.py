"""The room: a shoebox, its first reflections, and the energy they bring to a seat."""

from forehear.room.energy import (
    Arrived,
    Fill,
    arrived,
    band_energy,
    explain_fill,
    path_energy,
    shared_energy,
)
from forehear.room.shoebox import (
    DIRECT,
    OCTAVE_HZ,
    SURFACES,
    Paths,
    Shoebox,
    first_order_paths,
    listener_images,
    reflection_factor,
)

__all__ = [
    "DIRECT",
    "OCTAVE_HZ",
    "SURFACES",
    "Arrived",
    "Fill",
    "Paths",
    "Shoebox",
    "arrived",
    "band_energy",
    "explain_fill",
    "first_order_paths",
    "listener_images",
    "path_energy",
    "reflection_factor",
    "shared_energy",
]
