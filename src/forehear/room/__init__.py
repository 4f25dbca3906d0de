"""The room: a shoebox, its reflections, modes and decay, small reflectors, and the energy they bring to a seat."""

from forehear.room.air_absorption import air_absorption_db_per_m
from forehear.room.decay import (
    absorbing_area_m2,
    calibrated,
    critical_distance_m,
    eyring_s,
    sabine_s,
    schroeder_hz,
)
from forehear.room.energy import (
    Fill,
    explain_fill,
    path_energy,
)
from forehear.room.images import Images, later_images, reflected_share
from forehear.room.linear import (
    Block,
    LinearGrid,
    arrivals_sum,
    arrivals_sums,
    band_means_of,
    driven_band_means_of,
    few_arrivals_sum,
)
from forehear.room.modes import Modes, modal_transfer, mode_frequencies
from forehear.room.patches import Patch, PatchPaths, patch_factor, patch_paths, patch_reflection
from forehear.room.sending import NODES, Sending, node_places, toward_each
from forehear.room.shoebox import (
    DIRECT,
    OCTAVE_HZ,
    SURFACES,
    Paths,
    Shoebox,
    first_order_paths,
    listener_images,
    reflection_factor,
    scattered_share,
    specular_factor,
)
from forehear.room.tail import (
    Counting,
    Losses,
    diffuse_between,
    energy_between,
    losses,
    specular_between,
    uncounted,
)

__all__ = [
    "DIRECT",
    "NODES",
    "OCTAVE_HZ",
    "SURFACES",
    "Block",
    "Counting",
    "Fill",
    "Images",
    "LinearGrid",
    "Losses",
    "Modes",
    "Patch",
    "PatchPaths",
    "Paths",
    "Sending",
    "Shoebox",
    "absorbing_area_m2",
    "air_absorption_db_per_m",
    "arrivals_sum",
    "arrivals_sums",
    "band_means_of",
    "calibrated",
    "critical_distance_m",
    "diffuse_between",
    "driven_band_means_of",
    "energy_between",
    "explain_fill",
    "eyring_s",
    "few_arrivals_sum",
    "first_order_paths",
    "later_images",
    "listener_images",
    "losses",
    "modal_transfer",
    "mode_frequencies",
    "node_places",
    "patch_factor",
    "patch_paths",
    "patch_reflection",
    "path_energy",
    "reflected_share",
    "reflection_factor",
    "sabine_s",
    "scattered_share",
    "schroeder_hz",
    "specular_between",
    "specular_factor",
    "toward_each",
    "uncounted",
]
