"""Orders in which sounds are heard, so that none gains by coming first or after a certain other one."""

import random
from collections.abc import Sequence


def williams_square(count: int) -> tuple[tuple[int, ...], ...]:
    """Return orders of `count` things in which each comes equally often in every place and after every other.

    An even count needs as many orders, an odd one twice as many: the second half are the first ones backwards.

    Source
    ------
    williams-1949: designs balanced for what was heard just before.

    Examples
    --------
    >>> williams_square(4)
    ((0, 1, 3, 2), (1, 2, 0, 3), (2, 3, 1, 0), (3, 0, 2, 1))
    """
    if count < 1:
        raise ValueError(f"cannot order {count} things")
    first = [0]
    for step in range(1, count):
        first.append((first[-1] + (step if step % 2 else -step)) % count)
    square = [tuple((thing + shift) % count for thing in first) for shift in range(count)]
    if count % 2 and count > 1:
        square += [tuple(reversed(order)) for order in square]
    return tuple(square)


def balanced_orders(count: int, wanted: int, chance: random.Random) -> list[tuple[int, ...]]:
    """Return as many balanced orders as wanted: which thing and which row stand where is left to chance.

    Whenever as many were taken as the square has rows, they are balanced exactly.
    """
    square = williams_square(count)
    orders: list[tuple[int, ...]] = []
    while len(orders) < wanted:
        named = chance.sample(range(count), count)
        rows = chance.sample(square, len(square))
        orders += [tuple(named[thing] for thing in row) for row in rows]
    return orders[:wanted]


def unknown_sequence(trials: int, chance: random.Random) -> tuple[int, ...]:
    """Return for each trial whether the unknown sound is the first (0) or the second (1): one fair coin each.

    The coins know nothing of each other; a sequence with equal counts would let the last trials be guessed.
    """
    return tuple(chance.getrandbits(1) for _ in range(trials))


def pairs_of(count: int) -> tuple[tuple[int, int], ...]:
    """Return every pair of `count` things.

    Examples
    --------
    >>> pairs_of(3)
    ((0, 1), (0, 2), (1, 2))
    """
    return tuple((one, other) for one in range(count) for other in range(one + 1, count))


def pair_orders(
    count: int, rounds: int, listeners: int, chance: random.Random
) -> list[tuple[tuple[int, int], ...]]:
    """Return for each listener every pair, once a round: pairs in balanced order, turned about every other round."""
    pairs = pairs_of(count)
    orders = balanced_orders(len(pairs), listeners * rounds, chance)
    heard = []
    for listener in range(listeners):
        turned = [bool(chance.getrandbits(1)) for _ in pairs]
        own: list[tuple[int, int]] = []
        for turn in range(rounds):
            order = orders[listener * rounds + turn]
            own += [_turned(pairs[place], about=turned[place] ^ bool(turn % 2)) for place in order]
        heard.append(tuple(own))
    return heard


def _turned(pair: Sequence[int], *, about: bool) -> tuple[int, int]:
    one, other = pair
    return (other, one) if about else (one, other)
