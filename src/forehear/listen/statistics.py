"""What counts and ratings say, exactly where that can be counted out: no sample here is large."""

import itertools
import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import betaincinv, chdtrc

from forehear.ground.arrays import FloatArray

SURE = 0.95  # of an interval
MOST_WORK = 1_500_000  # steps after which an exact distribution is given up for the large-sample one
ENOUGH = 1e-13  # change of a strength at which the iteration ends
MOST_ITERATIONS = 100_000


def chance_of_at_least(right: int, trials: int, share: float = 0.5) -> float:
    r"""Chance of so many right answers or more where each is right with a chance of `share`.

    .. math:: P = \sum_{i \ge k} \binom{n}{i} p^i (1 - p)^{n - i}

    Parameters
    ----------
    right, trials : int
        Right answers, and all. [-]
    share : float
        Chance of one right answer; a half for who guesses. [-]

    Returns
    -------
    float
        Chance. [-]

    Source
    ------
    own definition: the binomial distribution.

    Examples
    --------
    >>> print(f"{chance_of_at_least(12, 16):.4f}")
    0.0384
    """
    if share == 0.5:
        ways = sum(math.comb(trials, count) for count in range(right, trials + 1))
        return float(ways / 2**trials)
    return sum(
        math.comb(trials, count) * share**count * (1 - share) ** (trials - count)
        for count in range(right, trials + 1)
    )


def two_sided(count: int, trials: int) -> float:
    """Chance of a count at least as far from a half as this one, if both ways are equally likely: the sign test.

    Examples
    --------
    >>> print(f"{two_sided(9, 10):.4f}")
    0.0215
    """
    return min(1.0, 2 * chance_of_at_least(max(count, trials - count), trials))


def interval_of_share(count: int, trials: int, sure: float = SURE) -> tuple[float, float]:
    r"""Between which shares the true one lies, at least so surely, whatever it is.

    .. math:: I_{p}(k, n - k + 1) = (1 - s) / 2, \quad I_{p}(k + 1, n - k) = (1 + s) / 2

    Parameters
    ----------
    count, trials : int
        How often, of how many. [-]
    sure : float
        How surely. [-]

    Returns
    -------
    tuple of float
        Both ends. [-]

    Source
    ------
    clopper-pearson-1934: exact for any count.

    Examples
    --------
    >>> low, high = interval_of_share(12, 16)
    >>> print(f"{low:.3f} to {high:.3f}")
    0.476 to 0.927
    """
    outside = (1 - sure) / 2
    low = float(betaincinv(count, trials - count + 1, outside)) if count else 0.0
    high = float(betaincinv(count + 1, trials - count, 1 - outside)) if count < trials else 1.0
    return low, high


def ranks_of(values: Sequence[float]) -> FloatArray:
    """Return the rank of each value, 1 for the lowest; equal values share the mean of theirs.

    Examples
    --------
    >>> ranks_of([20.0, 10.0, 20.0]).tolist()
    [2.5, 1.0, 2.5]
    """
    array = np.asarray(values, dtype=np.float64)
    below = (array[None, :] < array[:, None]).sum(axis=1)
    same = (array[None, :] == array[:, None]).sum(axis=1)
    ranks: FloatArray = below + (same + 1) / 2
    return ranks


@dataclass(frozen=True)
class SignedRanks:
    """Whether differences lie to one side of zero."""

    positive: float  # sum of the ranks of positive differences
    negative: float
    count: int  # differences that are not zero
    p: float  # two-sided, exact


def signed_ranks(differences: Sequence[float]) -> SignedRanks:
    r"""Test whether differences lie to one side of zero, by their signed ranks; zeros are left out.

    .. math:: W = \sum_{d_i > 0} \operatorname{rank} |d_i|

    All 2^n choices of signs are counted, with ties as they are, so that p is exact for any number of differences.

    Parameters
    ----------
    differences : sequence of float
        One of each listener. [any]

    Returns
    -------
    SignedRanks
        Sums of ranks [-] and p. [-]

    Source
    ------
    wilcoxon-1945: paired differences, symmetric about zero if nothing differs.

    Examples
    --------
    >>> print(f"{signed_ranks([1.2, 0.8, 2, 1.1, 0.5, 1.7]).p:.5f}")
    0.03125
    """
    kept = [value for value in differences if value != 0]
    if not kept:
        return SignedRanks(0.0, 0.0, 0, 1.0)
    doubled = np.rint(2 * ranks_of([abs(value) for value in kept])).astype(int)  # whole also with ties
    ways = np.zeros(int(doubled.sum()) + 1)
    ways[0] = 1.0
    for rank in doubled:
        moved = np.zeros_like(ways)
        moved[rank:] = ways[: ways.size - rank]
        ways = (ways + moved) / 2
    positive = int(doubled[np.array(kept) > 0].sum())
    least = min(positive, ways.size - 1 - positive)
    p = min(1.0, 2 * float(ways[: least + 1].sum()))
    return SignedRanks(positive / 2, (ways.size - 1 - positive) / 2, len(kept), p)


@dataclass(frozen=True)
class RankSums:
    """Whether listeners rank several things alike."""

    sums: tuple[float, ...]  # of each thing
    statistic: float
    p: float
    exact: bool


def rank_sums(ratings: Sequence[Sequence[float]]) -> RankSums:
    r"""Test whether any of several things is rated otherwise than the rest, by ranks within each listener.

    .. math:: \chi^2 = \frac{(k - 1) \sum_j (R_j - n (k + 1) / 2)^2}{\sum_{ij} (r_{ij} - (k + 1) / 2)^2}

    Without ties the denominator is n k (k + 1) (k - 1) / 12. Where it can be counted out, p comes from all orders that
    each listener could have given with the same ties; else from chi-square with k - 1 degrees of freedom.

    Parameters
    ----------
    ratings : sequence of sequences of float
        A row for each listener, a column for each thing. [any]

    Returns
    -------
    RankSums
        Sums of ranks, the statistic and p. [-]

    Source
    ------
    friedman-1937: listeners know nothing of each other.

    Examples
    --------
    >>> found = rank_sums([[7, 5, 6], [8, 6, 7], [6, 5, 7], [9, 6, 8], [7, 4, 6], [8, 7, 6]])
    >>> print(f"{found.statistic:.3f}, p {found.p:.4f}")
    8.333, p 0.0120
    """
    ranks = np.array([ranks_of(row) for row in ratings])
    count = ranks.shape[1]
    middle = (count + 1) / 2
    spread = float(((ranks - middle) ** 2).sum())
    sums = ranks.sum(axis=0)
    if spread == 0:  # everybody rates everything the same
        return RankSums(tuple(map(float, sums)), 0.0, 1.0, exact=True)
    apart = float(((sums - len(ranks) * middle) ** 2).sum())
    statistic = (count - 1) * apart / spread
    p = _counted_out(ranks, apart)
    exact = p is not None
    return RankSums(
        tuple(map(float, sums)), statistic, p if p is not None else of_many(statistic, count), exact
    )


def of_many(statistic: float, count: int) -> float:
    r"""Chance of a statistic of `rank_sums` at least so large where listeners are many and nothing differs.

    .. math:: P(\chi^2_{k - 1} \ge s)

    Parameters
    ----------
    statistic : float
        With ties already in its denominator. [-]
    count : int
        Of the things that are ranked. [-]

    Returns
    -------
    float
        Chance. [-]

    Source
    ------
    friedman-1937: for many listeners; of six listeners and three things 0.016 stands for an exact 0.012.

    Examples
    --------
    >>> print(f"{of_many(25 / 3, 3):.4f}")
    0.0155
    """
    return float(chdtrc(count - 1, statistic))


def _counted_out(ranks: FloatArray, apart: float) -> float | None:
    """Chance of rank sums at least so far apart over every listener's permutations; None where that is too many.

    Sums are kept sorted: all permutations of a row are equally likely, so their order says nothing.
    """
    doubled = np.rint(2 * ranks).astype(int)
    chances: dict[tuple[int, ...], float] = {(0,) * ranks.shape[1]: 1.0}
    if math.factorial(ranks.shape[1]) > MOST_WORK:
        return None
    for row in doubled:
        orders = Counter(itertools.permutations(row.tolist()))
        if len(orders) * len(chances) * len(doubled) > MOST_WORK:
            return None
        share, after = 1 / orders.total(), dict[tuple[int, ...], float]()
        for (sums, chance), (order, times) in itertools.product(chances.items(), orders.items()):
            place = tuple(sorted(map(int.__add__, sums, order)))
            after[place] = after.get(place, 0.0) + chance * times * share
        chances = after
    middle = len(doubled) * (ranks.shape[1] + 1)
    limit = 4 * apart - 1e-6
    return sum(
        chance for sums, chance in chances.items() if sum((one - middle) ** 2 for one in sums) >= limit
    )


@dataclass(frozen=True)
class Strengths:
    """How strongly each of several things is preferred."""

    share: tuple[float, ...]  # adds up to one
    log_strength: tuple[float, ...]  # less their mean
    log_error: tuple[float, ...]  # standard error of each, large-sample
    finite: (
        bool  # False where something never lost or never won against the rest: half a win was added each way
    )

    def chance(self, one: int, other: int) -> float:
        """Chance that the first is preferred to the second."""
        return self.share[one] / (self.share[one] + self.share[other])


def strengths(wins: Sequence[Sequence[float]]) -> Strengths:
    r"""Return the strengths that make the counted preferences likeliest, i beating j with pi_i / (pi_i + pi_j).

    .. math:: \pi_i \leftarrow W_i / \sum_j n_{ij} / (\pi_i + \pi_j)

    Parameters
    ----------
    wins : sequence of sequences of float
        How often the row was preferred to the column. [-]

    Returns
    -------
    Strengths
        Shares [-], and their logarithms. [neper]

    Source
    ------
    bradley-terry-1952, iterated as in hunter-2004: there is one answer where nothing always wins or loses.

    Examples
    --------
    >>> print([round(share, 4) for share in strengths([[0, 7, 8], [3, 0, 6], [2, 4, 0]]).share])
    [0.5971, 0.2453, 0.1576]
    """
    counted = np.array(wins, dtype=np.float64)
    finite = _strongly_connected(counted > 0)
    if not finite:
        counted += 0.5 * (1 - np.eye(len(counted)))
    met, won = counted + counted.T, counted.sum(axis=1)
    share = np.full(len(counted), 1 / len(counted))
    for _ in range(MOST_ITERATIONS):
        after = won / (met / (share[:, None] + share[None, :])).sum(axis=1)
        after /= after.sum()
        moved, share = float(np.abs(after - share).max()), after
        if moved < ENOUGH:
            break
    beats = share[:, None] / (share[:, None] + share[None, :])
    between = met * beats * beats.T
    information = np.diag(between.sum(axis=1)) - between
    error = np.sqrt(np.maximum(np.diag(np.linalg.pinv(information)), 0.0))
    logs = np.log(share)
    return Strengths(_plain(share), _plain(logs - logs.mean()), _plain(error), finite)


def _plain(values: FloatArray) -> tuple[float, ...]:
    return tuple(map(float, values))


def _strongly_connected(beaten: np.ndarray[tuple[int, int], np.dtype[np.bool_]]) -> bool:
    """Tell whether from each thing wins lead to every other one."""
    reach = beaten | np.eye(len(beaten), dtype=bool)
    for _ in range(len(beaten)):
        reach = (reach.astype(int) @ reach.astype(int)) > 0
    return bool(reach.all())


def corrected(chances: Sequence[float]) -> tuple[float, ...]:
    """Raise the p of several tests made together, so that none of them is believed by chance: Holm's steps.

    Source
    ------
    holm-1979.

    Examples
    --------
    >>> [round(p, 3) for p in corrected([0.01, 0.04, 0.03])]
    [0.03, 0.06, 0.06]
    """
    order = sorted(range(len(chances)), key=lambda index: chances[index])
    raised, highest = [1.0] * len(chances), 0.0
    for rank, index in enumerate(order):
        highest = max(highest, min(1.0, (len(chances) - rank) * chances[index]))
        raised[index] = highest
    return tuple(raised)


def level_between_db(first_rms: float, second_rms: float) -> float:
    r"""Level of the second reading above the first one.

    .. math:: \Delta L = 20 \lg (x_2 / x_1)

    Parameters
    ----------
    first_rms, second_rms : float
        Two readings of the same meter. [any]

    Returns
    -------
    float
        Level. [dB]

    Source
    ------
    own definition.

    Examples
    --------
    >>> print(f"{level_between_db(0.1, 0.1012):.3f} dB")
    0.104 dB
    """
    return 20 * math.log10(second_rms / first_rms)
