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
from forehear.room.images import Images, later_images, reflected_share
from forehear.room.linear import Block, LinearGrid, arrivals_sum, band_means_of, few_arrivals_sum
from forehear.room.sending import NODES, Sending
from forehear.room.shoebox import (
    DIRECT,
    OCTAVE_HZ,
    SURFACES,
    Paths,
    Shoebox,
    first_order_paths,
    listener_images,
    reflection_factor,
    specular_factor,
)
from forehear.room.tail import Losses, diffuse_between, losses, specular_between

__all__ = [
    "DIRECT",
    "NODES",
    "OCTAVE_HZ",
    "SURFACES",
    "Arrived",
    "Block",
    "Images",
    "LinearGrid",
    "Losses",
    "Sending",
    "Fill",
    "Paths",
    "Shoebox",
    "arrived",
    "band_energy",
    "arrivals_sum",
    "band_means_of",
    "diffuse_between",
    "explain_fill",
    "few_arrivals_sum",
    "later_images",
    "losses",
    "reflected_share",
    "first_order_paths",
    "listener_images",
    "path_energy",
    "reflection_factor",
    "shared_energy",
    "specular_between",
    "specular_factor",
]
