"""Array types, and the one place where arrays are checked and locked at birth."""

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

FloatArray: TypeAlias = NDArray[np.float64]
ComplexArray: TypeAlias = NDArray[np.complex128]


def locked(owner: object, name: str, shape: tuple[int, ...], meaning: str) -> None:
    """Replace field `name` of a frozen dataclass by a read-only copy after checking its shape.

    Parameters
    ----------
    owner
        The frozen dataclass, inside its ``__post_init__``.
    name
        The field that holds the array.
    shape
        The shape it must have; -1 lets an axis have any length.
    meaning
        The axes in words, for the message.
    """
    array: NDArray[Any] = np.array(getattr(owner, name))  # our copy: the caller's array stays writable
    fits = array.ndim == len(shape) and all(
        want in (-1, have) for want, have in zip(shape, array.shape, strict=True)
    )
    if not fits:
        raise ValueError(f"{name} has shape {array.shape}, but {meaning} need {shape}")
    array.setflags(write=False)
    object.__setattr__(owner, name, array)
