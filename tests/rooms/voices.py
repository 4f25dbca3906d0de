"""Voicing without a room: curves made up from a known network, so that what it should find is known."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from forehear.ground.axes import FrequencyGrid
from forehear.judge import Smoothing
from forehear.network import Branch
from forehear.voice.circuit import circuit_of
from forehear.voice.evaluator import Ears, Evaluator, Kept
from forehear.voice.heard import Ear, ear_of, judged_against, judged_bands

GRID = FrequencyGrid.standard()
AS_IT_IS = Smoothing(GRID, GRID, np.eye(len(GRID)))
# Curves that together tell all there is to know of two ways: each alone, and their sum in four phases.
WEIGHTS = np.array([[1, 0], [0, 1], [1, 1], [1, -1], [1, 1j], [1, -1j]])
NOTHING_KEPT = Kept(-np.inf, -np.inf, np.zeros((0, len(GRID))), np.zeros(0, dtype=int), np.zeros(0))


def volts_of(branches: Sequence[Branch], load: NDArray[np.complex128]) -> NDArray[np.complex128]:
    """What a network gives its ways, [way, frequency]."""
    circuit, values, losses = circuit_of(branches, load, GRID.frequency_hz)
    return circuit.solve(values[np.newaxis], losses[np.newaxis]).volts[0]


def ear_for(target: NDArray[np.complex128]) -> Ear:
    """An ear to which networks of this response, and no others, sound perfectly even."""
    weights = WEIGHTS[: 1 if len(target) == 1 else None, : len(target)].astype(complex)
    form = weights.conj()[:, :, np.newaxis] * weights[:, np.newaxis, :]
    energy = np.abs(weights @ target) ** 2  # [curve, frequency]
    return ear_of(form[:, np.newaxis] / energy[..., np.newaxis, np.newaxis], AS_IT_IS, GRID)


def evaluator_for(
    branches: Sequence[Branch], load: NDArray[np.complex128], target: Sequence[Branch]
) -> Evaluator:
    """What judges a network by how far its responses lie from those of another one."""
    circuit, _, _ = circuit_of(branches, load, GRID.frequency_hz)
    ear = ear_for(volts_of(target, load))
    flat = judged_against(GRID, 0.0)
    heard = len(judged_bands(GRID))
    around = ear_of(
        np.broadcast_to(np.eye(len(load), dtype=complex), (2, len(GRID), len(load), len(load))),
        AS_IT_IS,
        GRID,
    )
    ears = Ears(
        seats=ear,
        around=around,
        seats_judged=flat,
        around_judged=flat,
        seat_weight=1.0 / np.sqrt(ear.curves),
        axis_weight=0.0,
        window_weight=0.0,
        covered_weight=np.zeros(heard),
        fall_db=0.0,
        level_weight=np.zeros(heard),
    )
    return Evaluator(circuit, ears, NOTHING_KEPT)
