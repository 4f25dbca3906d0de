"""The first ways from a source to an ear: straight, over each surface of the room, over each board near the speaker."""

from dataclasses import dataclass

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.store import KeptResults, content_key
from forehear.room import (
    DIRECT,
    SURFACES,
    Patch,
    Shoebox,
    first_order_paths,
    patch_factor,
    patch_paths,
    patch_reflection,
    scattered_share,
    specular_factor,
)
from forehear.spine.reverberation import Reverberation

COVERS_WITHIN_M = 0.3  # a board this near to a surface that faces the same way takes its place
_factors: KeptResults[ComplexArray] = KeptResults(most=12)  # some tens of kilobytes each
_found: KeptResults["FirstWays"] = KeptResults(most=120)  # some tens of kilobytes each


@dataclass(frozen=True, eq=False)
class FirstWays:
    """Ways of one source to one ear, the direct one first."""

    reflections: tuple[str, ...]  # what the others meet
    departure_m: FloatArray  # [way, 3] room axes
    distance_m: FloatArray  # [way]
    factor: ComplexArray  # [way, frequency] what is sent back, 1 for the direct sound


def first_ways(reverberation: Reverberation, source_m: FloatArray, ear_m: FloatArray) -> FirstWays:
    """Find the direct way, the six first reflections, and those of boards and screens.

    A board in front of a surface that faces the same way hides what it covers of it.
    """
    return _found.get(
        content_key(reverberation.place_key, source_m, ear_m),
        lambda: _first_ways(reverberation, source_m, ear_m),
    )


def _first_ways(reverberation: Reverberation, source_m: FloatArray, ear_m: FloatArray) -> FirstWays:
    shoebox, reflectors = reverberation.shoebox, reverberation.pose.reflectors
    frequency_hz = reverberation.speaker.grid.frequency_hz
    walls = first_order_paths(shoebox, source_m, ear_m)
    factor = _sent_back(reverberation).copy()
    departures, distances, factors = [walls.departure_m], [walls.distance_m], [factor]
    for reflector in reflectors:
        patch, kept = reflector.patch, np.sqrt(1 - scattered_share(shoebox, frequency_hz))
        ways = patch_paths(patch, source_m, ear_m[np.newaxis])
        share = patch_factor(patch, source_m, ear_m, frequency_hz, reverberation.speaker.air.sound_speed_m_s)
        departures.append(ways.departure_m)
        distances.append(ways.distance_m)
        factors.append((share * patch_reflection(patch, frequency_hz) * kept)[np.newaxis])
        covered = covered_surface(shoebox, patch)
        if covered is not None:
            factor[1 + covered] *= 1 - share
    return FirstWays(
        (*SURFACES, *(reflector.name for reflector in reflectors)),
        np.concatenate(departures),
        np.concatenate(distances),
        np.concatenate(factors),
    )


def _sent_back(reverberation: Reverberation) -> ComplexArray:
    """Return what each surface sends back as a mirror does, after the direct way, [way, frequency]."""
    shoebox, frequency_hz = reverberation.shoebox, reverberation.speaker.grid.frequency_hz

    def factors() -> ComplexArray:
        every = (DIRECT, *range(len(SURFACES)))
        return np.array([specular_factor(shoebox, one, frequency_hz) for one in every], dtype=complex)

    return _factors.get(reverberation.place_key, factors)


def covered_surface(shoebox: Shoebox, patch: Patch) -> int | None:
    """Return the surface that a patch lies close before, facing the same way; None for one in the open."""
    axis = int(np.abs(patch.normal).argmax())
    far = patch.normal[axis] < 0
    away_m = abs((shoebox.size_m[axis] if far else 0.0) - patch.middle_m[axis])
    return 2 * axis + int(far) if away_m <= COVERS_WITHIN_M else None
