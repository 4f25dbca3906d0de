"""GMRES for several right sides at once: one product with all their newest columns a step."""

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.errors import OutsideValidity
from forehear.radiation.operators import Operator, SingleComplex

MOST_STEPS = 300
_ROOM = 32  # steps that memory is first taken for


def solve_columns(operator: Operator, right: ComplexArray, tolerance: float) -> tuple[ComplexArray, int]:
    r"""Solve for all columns by minimal residuals, each column in its own Krylov space.

    The rows are scaled by the diagonal first, so that elements of very different size weigh alike.

    Returns
    -------
    solution, steps
        [node, column], and how many products it took.
    """
    scale = 1 / operator.diagonal
    solution = np.zeros(right.shape, dtype=np.complex128)
    live = np.any(right != 0, axis=0)
    if not live.any():
        return solution, 0
    start = operator.take(right[:, live]).T * scale
    size = np.linalg.norm(start, axis=1)[:, None]
    basis = _with_room(start[:, None] / size[:, None], _ROOM)
    small = np.zeros((len(start), MOST_STEPS + 1, MOST_STEPS), dtype=np.complex128)
    for step in range(MOST_STEPS):
        parts, newest = _step(basis[:, : step + 1], operator.apply(basis[:, step]) * scale)
        small[:, : step + 2, step] = operator.give(parts)
        weights, left = _least(small[:, : step + 2, : step + 1])
        if left.max() < tolerance:
            found = operator.take(weights)[:, None] @ basis[:, : step + 1]
            solution[:, live] = operator.give(found[:, 0] * size).T
            return solution, step + 1
        if step + 1 == basis.shape[1]:
            basis = _with_room(basis, 2 * basis.shape[1])
        basis[:, step + 1] = newest
    raise OutsideValidity(
        f"the equations of the surface were not solved to {tolerance:g} in {MOST_STEPS} steps",
        cure="use a mesh without slivers and with less difference between its smallest and largest triangles",
    )


def _with_room(basis: SingleComplex, steps: int) -> SingleComplex:
    """Copy a basis [column, step, node] to where more steps fit, in the memory where it is."""
    room = np.zeros_like(basis, shape=(basis.shape[0], steps, basis.shape[2]))
    room[:, : basis.shape[1]] = basis
    return room


def _step(basis: SingleComplex, product: SingleComplex) -> tuple[SingleComplex, SingleComplex]:
    """Make a product [column, node] square to the basis, in two rounds that each take all vectors at once.

    Returns its parts along the basis and what is left, [column, step + 2], and the new vector.
    """
    first, product = _along(basis, product)
    second, product = _along(basis, product)
    parts = first + second
    left = np.linalg.norm(product, axis=1)[:, None]
    return np.concatenate([parts, left.astype(np.complex64)], axis=1), product / np.maximum(left, 1e-30)


def _along(basis: SingleComplex, product: SingleComplex) -> tuple[SingleComplex, SingleComplex]:
    """Split a product into its parts along the basis and the rest."""
    along: SingleComplex = (basis @ product.conj()[:, :, None])[:, :, 0].conj()
    rest: SingleComplex = product - (along[:, None] @ basis)[:, 0]
    return along, rest


def _least(small: ComplexArray) -> tuple[ComplexArray, FloatArray]:
    """Weights of the basis of least residual, [column, step + 1], and the residual of each column."""
    square, upper = np.linalg.qr(small)
    seen = square[:, 0, :].conj()
    weights = np.linalg.solve(upper, seen[:, :, None])[:, :, 0]
    left = np.sqrt(np.maximum(1.0 - np.sum(np.abs(seen) ** 2, axis=1), 0.0))
    return weights, left
