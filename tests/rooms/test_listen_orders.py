"""Balanced orders: counted, and held against the square in print."""

import itertools
import random
from collections import Counter

import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.listen.orders import balanced_orders, pair_orders, unknown_sequence, williams_square
from published.printed import cases

SQUARE = cases("section10.yaml")["S10.latin.4"]


def test_the_square_in_print() -> None:
    assert [list(order) for order in williams_square(SQUARE.inputs["n"])] == SQUARE.expected


@pytest.mark.parametrize("count", range(2, 10))
def test_every_place_and_every_neighbour_equally_often(count: int) -> None:
    square = williams_square(count)
    rows = count if count % 2 == 0 else 2 * count
    assert len(square) == rows
    places = Counter((place, thing) for order in square for place, thing in enumerate(order))
    neighbours = Counter(pair for order in square for pair in itertools.pairwise(order))
    assert set(places.values()) == {rows // count}
    assert len(places) == count**2
    assert set(neighbours.values()) == {rows // count}
    assert len(neighbours) == count * (count - 1)


def test_one_thing_has_one_order() -> None:
    assert williams_square(1) == ((0,),)
    with pytest.raises(ValueError, match="cannot order 0"):
        williams_square(0)


@given(count=st.integers(2, 7), seed=st.integers(0, 2**64))
def test_chance_keeps_the_balance(count: int, seed: int) -> None:
    wanted = len(williams_square(count))
    orders = balanced_orders(count, wanted + 1, random.Random(seed))
    assert len(orders) == wanted + 1
    neighbours = Counter(pair for order in orders[:wanted] for pair in itertools.pairwise(order))
    assert len(set(neighbours.values())) == 1
    assert len(neighbours) == count * (count - 1)


@given(seed=st.integers(0, 2**64))
def test_a_seed_gives_one_order_and_others_differ(seed: int) -> None:
    def told(seed: int) -> list[tuple[int, ...]]:
        return balanced_orders(5, 12, random.Random(seed))

    assert told(seed) == told(seed)
    assert told(seed) != told(seed + 1)


def test_coins_are_fair_and_know_nothing_of_each_other() -> None:
    coins = unknown_sequence(20_000, random.Random(7))
    # Four standard deviations of a fair binomial: 4 sqrt(n)/2 = 283 of 20 000, and of the 19 999 pairs of neighbours.
    assert abs(sum(coins) - 10_000) < 283
    same = sum(one == other for one, other in itertools.pairwise(coins))
    assert abs(same - 10_000) < 283


@given(count=st.integers(2, 5), rounds=st.integers(1, 4), seed=st.integers(0, 2**32))
def test_every_pair_comes_once_a_round_and_turned_the_next(count: int, rounds: int, seed: int) -> None:
    heard = pair_orders(count, rounds, 3, random.Random(seed))
    every = set(itertools.combinations(range(count), 2))
    for own in heard:
        for turn in range(rounds):
            part = own[turn * len(every) : (turn + 1) * len(every)]
            assert {(min(pair), max(pair)) for pair in part} == every
        ways = Counter(own)
        assert all(abs(ways[one, other] - ways[other, one]) <= 1 for one, other in every)
