"""Sharing one number out among its causes, fairly."""

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import factorial


def shapley_shares(value: Mapping[frozenset[str], float], causes: Sequence[str]) -> dict[str, float]:
    r"""Share of each cause: what it adds when it joins, averaged over all orders of joining.

    .. math:: s_i = \sum_{S \not\ni i} \frac{|S|! (n - |S| - 1)!}{n!} [v(S \cup i) - v(S)]

    The shares sum to the worth of all causes less the worth of none; a share may be negative.

    Parameters
    ----------
    value : mapping
        Worth of every combination of the causes that are present, any unit. [-]
    causes : sequence of str
        The causes, each once. [-]

    Returns
    -------
    dict
        Share of each cause, in the unit of the worth. [-]

    Source
    ------
    shapley-1953: exact, 2^n combinations.

    Examples
    --------
    >>> worth = {frozenset(): 0.0, frozenset("a"): 6.0, frozenset("b"): 2.0, frozenset("ab"): 10.0}
    >>> shapley_shares(worth, ["a", "b"])
    {'a': 7.0, 'b': 3.0}
    """
    count = len(causes)
    if len(set(causes)) != count:
        raise ValueError(f"a cause is named twice: {list(causes)}")
    shares = {}
    for cause in causes:
        others = [other for other in causes if other != cause]
        share = 0.0
        for size in range(count):
            orders = factorial(size) * factorial(count - size - 1) / factorial(count)
            share += orders * sum(
                value[frozenset((*present, cause))] - value[frozenset(present)]
                for present in combinations(others, size)
            )
        shares[cause] = share
    return shares
