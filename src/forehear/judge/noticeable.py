"""Just-noticeable steps: what is closer together than one is called equal, in words and in rankings."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

SAME = "no difference you could hear"


@dataclass(frozen=True)
class Noticeable:
    """The least difference of a number that is noticed, who found it, and the unit that is written behind it."""

    step: float
    source: str  # a key of sources.toml
    unit: str = ""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.step) and self.step > 0):
            raise ValueError(f"a just-noticeable step is above zero, not {self.step}")

    def tells_apart(self, value_a: float, value_b: float) -> bool:
        """Tell whether two values lie a step or more apart; rounding in the last digits of a float is forgiven."""
        return abs(value_a - value_b) >= self.step * (1 - 1e-9)


C50_STEP = Noticeable(1.1, "bradley-reich-norcross-1999", "dB")
STI_STEP = Noticeable(0.03, "bradley-reich-norcross-1999")  # from memory: what 1.1 dB of clarity is worth
SPREAD_STEP = Noticeable(1.0, "own-definition", "dB")


def difference_words(value_a: float, value_b: float, step: Noticeable) -> str:
    """Say how the first value lies against the second; below a step there is nothing to say.

    Parameters
    ----------
    value_a, value_b : float
        Two values of one kind. [unit of the step]
    step : Noticeable
        The just-noticeable step of that kind, whose first digit is the last one written. [its own unit]

    Returns
    -------
    str
        Words, such as "2 dB higher".

    Source
    ------
    own-definition: the words; each step names its source.

    Examples
    --------
    >>> difference_words(12.0, 9.9, C50_STEP)
    '2 dB higher'
    >>> difference_words(0.60, 0.62, STI_STEP)
    'no difference you could hear'
    """
    if not step.tells_apart(value_a, value_b):
        return SAME
    digits = max(0, -math.floor(math.log10(step.step)))
    size = f"{abs(value_a - value_b):.{digits}f} {step.unit}".rstrip()
    return f"{size} {'higher' if value_a > value_b else 'lower'}"


def rank_groups(
    values: Sequence[float], step: Noticeable, *, lower_is_better: bool = False
) -> tuple[tuple[int, ...], ...]:
    """Rank values in groups of equals, the best group first.

    To be less than a step apart is not transitive, so a group is defined by its best: the best value that is
    left opens a group, and all that lie less than a step behind it join. Two that lie close on either side
    of such a border are in two groups although nobody could tell them apart: never say that one is better
    without `difference_words`.

    Parameters
    ----------
    values : sequence of float
        Values of one kind. [unit of the step]
    step : Noticeable
        The just-noticeable step of that kind. [its own unit]
    lower_is_better : bool
        True for a spread, False for clarity.

    Returns
    -------
    tuple
        Groups of places in `values`; within a group in the order they came.

    Source
    ------
    own-definition: groups.

    Examples
    --------
    >>> rank_groups([9.0, 12.0, 11.2, 10.5], C50_STEP)
    ((1, 2), (3,), (0,))
    """
    left = sorted(range(len(values)), key=lambda place: values[place], reverse=not lower_is_better)
    groups = []
    while left:
        best = values[left[0]]
        group = [place for place in left if not step.tells_apart(values[place], best)]
        left = left[len(group) :]
        groups.append(tuple(sorted(group)))
    return tuple(groups)
