"""The room: a shoebox, its reflections, modes and decay, small reflectors, and the energy they bring to a seat."""

from forehear.room.air_absorption import air_absorption_db_per_m
from forehear.room.decay import (
    absorbing_area_m2,
    areas_m2,
    calibrated,
    critical_distance_m,
    eyring_s,
    sabine_s,
    schroeder_hz,
    volume_m3,
)
from forehear.room.energy import (
    Arrived,
    Fill,
    arrived,
    band_energy,
    explain_fill,
    path_energy,
    shared_energy,
)
from forehear.room.modes import Modes, modal_transfer, mode_frequencies
from forehear.room.patches import Patch, PatchPaths, patch_factor, patch_paths, patch_reflection
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
    "Modes",
    "Patch",
    "PatchPaths",
    "Paths",
    "Shoebox",
    "absorbing_area_m2",
    "air_absorption_db_per_m",
    "areas_m2",
    "arrived",
    "band_energy",
    "calibrated",
    "critical_distance_m",
    "explain_fill",
    "eyring_s",
    "first_order_paths",
    "listener_images",
    "modal_transfer",
    "mode_frequencies",
    "patch_factor",
    "patch_paths",
    "patch_reflection",
    "path_energy",
    "reflection_factor",
    "sabine_s",
    "schroeder_hz",
    "shared_energy",
    "volume_m3",
]
