"""GMRES for several right sides at once: one product with all their newest columns a step."""

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.errors import OutsideValidity
from forehear.radiation.operators import Operator

MOST_STEPS = 300


def solve_columns(operator: Operator, right: ComplexArray, tolerance: float) -> tuple[ComplexArray, int]:
    r"""Solve for all columns by minimal residuals, each column in its own Krylov space.

    The rows are scaled by the diagonal first, so that elements of very different size weigh alike.

    Returns
    -------
    solution, steps
        [node, column], and how many products it took.
    """
    scale = 1 / operator.diagonal[:, None]
    start = (right * scale).astype(np.complex64)
    size = np.linalg.norm(start, axis=0)
    live = size > 0
    columns = int(live.sum())
    solution = np.zeros(right.shape, dtype=np.complex128)
    if not columns:
        return solution, 0
    basis = [start[:, live] / size[live]]
    small = np.zeros((columns, MOST_STEPS + 1, MOST_STEPS), dtype=np.complex128)
    for step in range(MOST_STEPS):
        small[:, : step + 2, step], newest = _step(basis, operator.apply(basis[-1]) * scale)
        weights, left = _least(small[:, : step + 2, : step + 1])
        if left.max() < tolerance:
            found = sum(
                vector * weight.astype(np.complex64) for vector, weight in zip(basis, weights.T, strict=True)
            )
            solution[:, live] = found * size[live]
            return solution, step + 1
        basis.append(newest)
    raise OutsideValidity(
        f"the equations of the surface were not solved to {tolerance:g} in {MOST_STEPS} steps",
        cure="use a mesh without slivers and with less difference between its smallest and largest triangles",
    )


def _step(
    basis: list[NDArray[np.complex64]], product: NDArray[np.complex64]
) -> tuple[ComplexArray, NDArray[np.complex64]]:
    """Make a product square to the basis; its parts along the basis and what is left, [column, step + 2]."""
    parts = np.empty((product.shape[1], len(basis) + 1), dtype=np.complex128)
    for place, vector in enumerate(basis):
        along = np.einsum("nc,nc->c", vector.conj(), product)
        product = product - vector * along
        parts[:, place] = along
    left = np.linalg.norm(product, axis=0)
    parts[:, -1] = left
    return parts, product / np.maximum(left, 1e-30).astype(np.float32)


def _least(small: ComplexArray) -> tuple[ComplexArray, FloatArray]:
    """Weights of the basis of least residual, [column, step + 1], and the residual of each column."""
    square, upper = np.linalg.qr(small)
    seen = square[:, 0, :].conj()
    weights = np.linalg.solve(upper, seen[:, :, None])[:, :, 0]
    left = np.sqrt(np.maximum(1.0 - np.sum(np.abs(seen) ** 2, axis=1), 0.0))
    return weights, left
