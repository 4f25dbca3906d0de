"""Fields at many frequencies from solving few: rational functions with common poles, their error estimated."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import ComplexArray, FloatArray

_FIRST = 5  # frequencies solved before anything is estimated, spread evenly

Field = ComplexArray  # [source, direction]


@dataclass(frozen=True, eq=False)
class Interpolated:
    """Fields at all frequencies asked for, some solved, the rest between them."""

    value: ComplexArray  # [source, direction, frequency]
    solved: NDArray[np.bool_]  # [frequency]
    estimate: FloatArray  # [frequency] error expected, of the root mean square over directions


def interpolate(solve: Callable[[float], Field], frequency_hz: FloatArray, tolerance: float) -> Interpolated:
    r"""Solve at a few of the frequencies, chosen one by one where two rational fits differ most.

    .. math:: r(f) = \sum_i \frac{w_i y_i}{f - f_i} \Big/ \sum_i \frac{w_i}{f - f_i}

    One set of weights serves all directions of a source. Each new solve first tells how far off the fit was there;
    it ends when neither that nor the difference of two fits is above the tolerance.

    Parameters
    ----------
    solve
        Gives the field [source, direction] at a frequency in Hz. [-]
    frequency_hz
        Rising. [Hz]
    tolerance
        Error allowed, of the root mean square over all directions. [-]

    Returns
    -------
    Interpolated
        Fields, which were solved, and the estimate. [-]

    Source
    ------
    nakatsukasa-2018: barycentric rational functions by greedy support; here for many values at once.

    Examples
    --------
    A resonance is caught by a few of a hundred frequencies:

    >>> hz = np.geomspace(100.0, 1000.0, 100)
    >>> found = interpolate(lambda f: np.array([[1 / (1 - (f / 400) ** 2 + 0.1j * f / 400)]]), hz, 1e-4)
    >>> int(found.solved.sum()) < 12
    True
    """
    count = frequency_hz.size
    taken = sorted({round(place) for place in np.linspace(0, count - 1, min(_FIRST, count))})
    solved = {place: solve(float(frequency_hz[place])) / frequency_hz[place] for place in taken}
    surprise = np.inf
    while True:
        fit, estimate = _fits(solved, frequency_hz)
        estimate[list(solved)] = 0.0
        worst = int(np.argmax(estimate))
        if len(solved) == count or (estimate[worst] <= tolerance and surprise <= tolerance):
            break
        if estimate[worst] == 0.0:  # nothing to choose by: the largest gap
            worst = _middle_of_gap(np.array(sorted(solved)))
        solved[worst] = solve(float(frequency_hz[worst])) / frequency_hz[worst]
        surprise = _apart(fit[..., worst], solved[worst])
    for place, field in solved.items():
        fit[..., place] = field
    return Interpolated(fit * frequency_hz, np.isin(np.arange(count), list(solved)), estimate)


def _fits(solved: dict[int, Field], frequency_hz: FloatArray) -> tuple[ComplexArray, FloatArray]:
    """Fit every source with as many support points as the data carry, and with two fewer: value and difference."""
    place = np.array(sorted(solved))
    data = np.stack([solved[int(i)] for i in place], axis=1)  # [source, sample, direction]
    known, wanted = frequency_hz[place], frequency_hz
    most = len(place) // 2 + 1
    value = np.empty((data.shape[0], data.shape[2], wanted.size), dtype=np.complex128)
    estimate = np.zeros(wanted.size)
    for source, samples in enumerate(data):
        fine, coarse = (_rational(known, samples, order, wanted) for order in (most, max(most - 2, 1)))
        value[source] = fine.T
        size = np.linalg.norm(fine, axis=1)
        estimate = np.maximum(estimate, np.linalg.norm(fine - coarse, axis=1) / np.maximum(size, 1e-30))
    return value, estimate


def _rational(known: FloatArray, samples: ComplexArray, order: int, wanted: FloatArray) -> ComplexArray:
    """Fit samples [sample, direction] with `order` support points and evaluate, [wanted, direction]."""
    left, _, _ = np.linalg.svd(samples.T, full_matrices=False)
    reduced = samples @ left.conj()  # directions turned to as few as there are samples
    support = [int(np.argmax(np.linalg.norm(reduced, axis=1)))]
    weight = np.ones(1, dtype=np.complex128)
    while len(support) < order:
        there = _barycentric(known, known[support], reduced[support], weight)
        off = np.linalg.norm(there - reduced, axis=1)
        off[support] = -1.0
        support.append(int(np.argmax(off)))
        weight = _weights(known, reduced, support)
    fitted: ComplexArray = _barycentric(wanted, known[support], reduced[support], weight) @ left.T
    return fitted


def _weights(known: FloatArray, samples: ComplexArray, support: list[int]) -> ComplexArray:
    """Weights that leave the least over the samples that support nothing."""
    rest = np.setdiff1d(np.arange(known.size), support)
    if not rest.size:
        return np.ones(len(support), dtype=np.complex128)
    inverse = 1 / (known[rest, None] - known[support])
    rows = (samples[rest][:, :, None] - samples[support].T) * inverse[:, None, :]
    weights: ComplexArray = np.linalg.svd(rows.reshape(-1, len(support)))[2][-1].conj()
    return weights


def _barycentric(
    at: FloatArray, support: FloatArray, value: ComplexArray, weight: ComplexArray
) -> ComplexArray:
    """Evaluate the barycentric formula; at a support point it is that point's value."""
    apart = at[:, None] - support
    hit = np.abs(apart) < 1e-9 * np.abs(support)
    share = weight / np.where(hit, 1.0, apart)
    share[hit.any(axis=1)] = 0.0
    share = np.where(hit, 1.0, share)
    total: ComplexArray = share @ value / share.sum(axis=1, keepdims=True)
    return total


def _apart(guess: Field, truth: Field) -> float:
    """Largest relative error of any source, over its directions."""
    return float(np.max(np.linalg.norm(guess - truth, axis=1) / np.linalg.norm(truth, axis=1)))


def _middle_of_gap(place: NDArray[np.int_]) -> int:
    gap = int(np.argmax(np.diff(place)))
    return int(place[gap] + place[gap + 1]) // 2
