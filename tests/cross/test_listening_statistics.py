"""Our exact statistics against scipy's, its own optimiser, a library of choices, and plain counting."""

import itertools
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import scipy.optimize
import scipy.stats
from hypothesis import assume, given
from hypothesis import strategies as st

from forehear.ground.arrays import FloatArray
from forehear.listen.statistics import (
    chance_of_at_least,
    corrected,
    interval_of_share,
    rank_sums,
    signed_ranks,
    strengths,
    two_sided,
)

COUNTS = st.integers(1, 60).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))
CHOICES = tomllib.loads((Path(__file__).parent / "data" / "preferences.toml").read_text(encoding="utf-8"))[
    "choices"
]
GRID = st.integers(1, 9)


@given(counts=COUNTS, share=st.floats(0.05, 0.95))
def test_binomial(counts: tuple[int, int], share: float) -> None:
    right, trials = counts
    theirs = scipy.stats.binomtest(right, trials, share, alternative="greater")
    assert chance_of_at_least(right, trials, share) == pytest.approx(theirs.pvalue, rel=1e-9)
    assert two_sided(right, trials) == pytest.approx(scipy.stats.binomtest(right, trials).pvalue, rel=1e-9)
    both = scipy.stats.binomtest(right, trials).proportion_ci(0.95, "exact")
    assert interval_of_share(right, trials) == pytest.approx((both.low, both.high), abs=1e-9)


@given(seed=st.integers(0, 10_000), count=st.integers(2, 18))
def test_signed_ranks_without_ties(seed: int, count: int) -> None:
    differences = np.random.default_rng(seed).standard_normal(count) + 0.4
    theirs = scipy.stats.wilcoxon(differences, method="exact")
    found = signed_ranks(differences.tolist())
    assert min(found.positive, found.negative) == theirs.statistic
    assert found.p == pytest.approx(theirs.pvalue, rel=1e-9)


@given(differences=st.lists(st.integers(-4, 4), min_size=1, max_size=9))
def test_signed_ranks_with_ties_counted_out(differences: list[int]) -> None:
    """All choices of signs, one by one; zeros left out."""
    kept = [value for value in differences if value]
    assume(kept)
    ranks = scipy.stats.rankdata(np.abs(kept))
    sums = [ranks[np.array(signs)].sum() for signs in itertools.product([True, False], repeat=len(kept))]
    least = min(ranks[np.array(kept) > 0].sum(), ranks[np.array(kept) < 0].sum())
    wanted = min(1.0, 2 * float(np.mean(np.array(sums) <= least)))
    assert signed_ranks(differences).p == pytest.approx(wanted, rel=1e-9)


@given(rows=st.lists(st.lists(GRID, min_size=3, max_size=3), min_size=2, max_size=4))
def test_rank_sums_with_ties_counted_out(rows: list[list[int]]) -> None:
    """The statistic of scipy; p from all permutations of every row, one by one."""
    assume(any(len(set(row)) > 1 for row in rows))
    found = rank_sums(rows)
    theirs = scipy.stats.friedmanchisquare(*np.array(rows).T)
    assert found.statistic == pytest.approx(theirs.statistic, abs=1e-9)
    ranks = [scipy.stats.rankdata(row) for row in rows]
    apart = float(np.var(np.sum(ranks, axis=0)))
    every = [list(itertools.permutations(row)) for row in ranks]
    spreads = [np.var(np.sum(choice, axis=0)) for choice in itertools.product(*every)]
    assert found.exact
    assert found.p == pytest.approx(np.mean(np.array(spreads) >= apart - 1e-9), rel=1e-9)


def test_rank_sums_of_many_listeners_come_from_chi_square() -> None:
    ratings = np.random.default_rng(4).standard_normal((40, 6)) + 0.2 * np.arange(6)
    found = rank_sums(ratings.tolist())
    theirs = scipy.stats.friedmanchisquare(*ratings.T)
    assert not found.exact
    assert (found.statistic, found.p) == pytest.approx((theirs.statistic, theirs.pvalue), rel=1e-9)
    ratings = np.rint(ratings)  # many are alike
    found, theirs = rank_sums(ratings.tolist()), scipy.stats.friedmanchisquare(*ratings.T)
    assert not found.exact
    assert (found.statistic, found.p) == pytest.approx((theirs.statistic, theirs.pvalue), rel=1e-9)


@given(seed=st.integers(0, 10_000), count=st.integers(2, 5))
def test_strengths_are_the_likeliest(seed: int, count: int) -> None:
    """Against scipy's optimiser of the same likelihood, and errors against its curvature by differences."""
    wins = np.random.default_rng(seed).integers(1, 12, (count, count)) * (1 - np.eye(count, dtype=int))

    def unlikely(free: FloatArray) -> float:
        logs = np.append(free, -free.sum())
        apart = logs[:, None] - logs[None, :]
        return float((wins * np.log1p(np.exp(-apart))).sum())

    theirs = scipy.optimize.minimize(unlikely, np.zeros(count - 1), method="BFGS", options={"gtol": 1e-8})
    logs = np.append(theirs.x, -theirs.x.sum())
    found = strengths(wins.tolist())
    assert found.finite
    assert found.log_strength == pytest.approx(logs - logs.mean(), abs=1e-5)
    assert sum(found.share) == pytest.approx(1.0, rel=1e-12)


@pytest.mark.parametrize("row", CHOICES, ids=lambda row: f"{len(row['wins'])} things")
def test_strengths_are_those_of_a_library_of_choices(row: dict[str, Any]) -> None:
    """Stored by `make oracles`; the file holds the library's version."""
    assert strengths(row["wins"]).share == pytest.approx(row["strength"], abs=1e-7)


def test_error_of_a_strength_of_two_is_that_of_a_logit() -> None:
    """Of two things the log odds have variance 1/won + 1/lost; half of them is each one's distance from the mean."""
    found = strengths([[0, 30], [10, 0]])
    assert found.log_strength[0] - found.log_strength[1] == pytest.approx(np.log(3.0), abs=1e-9)
    assert 2 * found.log_error[0] == pytest.approx(np.sqrt(1 / 30 + 1 / 10), rel=1e-6)


def test_what_always_wins_has_no_strength_of_its_own() -> None:
    found = strengths([[0, 5, 5], [0, 0, 3], [0, 2, 0]])
    assert not found.finite
    assert found.share[0] > 0.8
    assert all(np.isfinite(found.log_strength))


@given(chances=st.lists(st.floats(0, 1), min_size=1, max_size=8))
def test_correction_is_between_none_and_the_crudest(chances: list[float]) -> None:
    """At least each p itself, at most all of them times their count, and in the same order."""
    found = corrected(chances)
    for raised, chance in zip(found, chances, strict=True):
        assert chance <= raised <= min(1.0, len(chances) * chance) + 1e-12
    order = sorted(range(len(chances)), key=lambda index: chances[index])
    assert [found[index] for index in order] == sorted(found)
