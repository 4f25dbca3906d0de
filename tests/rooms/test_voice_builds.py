"""Builds of ordinary parts: against the box solver, closed forms, and scipy's binomial interval."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import binomtest, norm

from forehear.box import BlockedImpedance, enclosure_response
from forehear.network import Wiring, wire_drivers
from forehear.spine.translate import constants_of, enclosure_of
from forehear.voice import Draw, layout_of, listen, yield_of
from forehear.voice.builds import WayModel, drawn_shares, half_widths
from forehear.voice.goal import Goal
from forehear.voice.heard import judged_bands
from forehear.voice.yielding import _House, wilson_interval, yield_from
from rooms.attic import situation

BUILDS = 20_000
Levels = NDArray[np.float64]


@pytest.mark.parametrize("wiring", Wiring)
@pytest.mark.parametrize(("name", "way"), [("trio", 0), ("trio", 1), ("stack", 0), ("stack", 1)])
def test_a_way_off_its_values_is_what_the_box_makes_of_it(name: str, way: int, wiring: Wiring) -> None:
    solved = situation(name)
    own, grid, air = solved.design.ways[way], solved.grid, solved.speaker.air
    drivers = tuple(constants_of(solved.design.driver[driver].part, grid) for driver in own.drivers)
    box = enclosure_of(own.enclosure)
    model = WayModel(drivers, box, wiring, grid, air)
    shares = drawn_shares(np.random.default_rng(1), 3, len(drivers)) * half_widths()
    load, velocity = model.off(shares)
    for build, off in enumerate(shares):
        built = [
            replace(
                driver,
                mms_kg=driver.mms_kg * (1 + one[0]),
                cms_m_n=driver.cms_m_n * (1 + one[1]),
                bl_n_a=driver.bl_n_a * (1 + one[2]),
                re_ohm=driver.re_ohm * (1 + one[3]),
                blocked=BlockedImpedance(grid, driver.blocked.impedance_ohm + driver.re_ohm * one[3]),
            )
            for driver, one in zip(drivers, off, strict=True)
        ]
        motion, impedance = enclosure_response(built, own.drivers, box, grid, air)
        expected, share = wire_drivers(impedance.impedance_ohm, wiring)
        moved = np.einsum("sif,if->sf", motion.velocity_m_s_v, share)[: len(drivers)]
        np.testing.assert_allclose(load[build], expected, rtol=1e-9)
        np.testing.assert_allclose(velocity[build], moved, rtol=1e-8, atol=1e-12)
    nominal, _ = enclosure_response(drivers, own.drivers, box, grid, air)
    volts = model.as_nominal_drive(velocity)
    again = np.einsum("sif,bif->bsf", nominal.velocity_m_s_v[: len(drivers)], volts)
    np.testing.assert_allclose(again, velocity, rtol=1e-8, atol=1e-12)


def high_pass(over_corner: NDArray[np.float64], parts: Levels) -> Levels:
    """First-order high pass of one capacitor, level at some frequencies over its corner: 10 lg x^2 / (1 + x^2)."""
    x = np.outer(over_corner, 1 + parts[:, 0])
    return (10 * np.log10(x**2 / (1 + x**2)))[:, np.newaxis]


@pytest.mark.parametrize("normal", [False, True])
def test_yield_of_one_capacitor_has_a_closed_form(*, normal: bool) -> None:
    """Of two frequencies, mean taken out: half the difference of their deviations, which goes with the value."""
    off, within_db = 0.2, 0.35
    over_corner = np.array([0.5, 2.0])

    def deviation(share: float) -> float:
        low, high = (high_pass(over_corner, np.array([[value]]))[:, 0, 0] for value in (share, 0.0))
        away = low - high
        return float((away[1] - away[0]) / 2)

    def share_at(wanted: float) -> float:  # by halving: the deviation goes one way with the value
        low, high = -0.999, 5.0
        for _ in range(80):
            middle = (low + high) / 2
            low, high = (middle, high) if deviation(middle) > wanted else (low, middle)
        return low

    ends = sorted((share_at(within_db), share_at(-within_db)))
    if normal:
        expected = norm.cdf(ends[1], scale=off / 3) - norm.cdf(ends[0], scale=off / 3)
    else:
        expected = (min(ends[1], off) - max(ends[0], -off)) / (2 * off)
    found = yield_from(
        lambda parts, _: high_pass(over_corner, parts),
        np.array([off]),
        [],
        Draw(BUILDS, within_db, normal=normal),
        ["capacitor"],
        [],
    )
    assert 0.2 < expected < 0.999
    assert found.low <= expected <= found.high
    assert found.spoilers[0].tighter is not None
    assert found.spoilers[0].tighter > found.good


def test_far_below_the_corner_only_the_level_is_off() -> None:
    """There the high pass goes as the value: the curve keeps its shape, and the level is off by 20 lg(1 + u)."""
    found = yield_from(
        lambda parts, _: high_pass(np.array([1e-4, 2e-4]), parts), np.array([0.1]), [], Draw(2000), ["c"], []
    )
    assert found.good == 1.0
    assert found.deviation_db.max() < 1e-6
    assert found.level_db.max() == pytest.approx(20 * np.log10(1.1), abs=0.01)
    assert found.level_db.min() == pytest.approx(20 * np.log10(0.9), abs=0.01)


@pytest.mark.parametrize(("good", "count"), [(4900, 5000), (5000, 5000), (3, 20), (0, 50)])
def test_the_interval_is_that_of_wilson(good: int, count: int) -> None:
    theirs = binomtest(good, count).proportion_ci(0.95, "wilson")
    assert wilson_interval(good / count, count) == pytest.approx((theirs.low, theirs.high), abs=1e-9)


def test_bins_far_under_the_mean_are_left_out() -> None:
    def levels(parts: Levels, _: Levels) -> Levels:
        quiet = -30.0 + 60.0 * parts[:, 0]  # a hole that moves wildly
        return np.stack([np.zeros_like(quiet), np.zeros_like(quiet), quiet])[:, np.newaxis]

    found = yield_from(levels, np.array([0.1]), [], Draw(500), ["part"], [])
    assert found.deviation_db.max() == 0


def test_example_builds_repeat_and_one_batch_differs() -> None:
    solved = situation("twin")
    layout, like = layout_of(solved.design), listen(solved, Goal()).evaluator
    draw = Draw(400, 0.5, spoilers=False)
    first, again = (yield_of(solved, layout, like, draw) for _ in range(2))
    np.testing.assert_array_equal(first.deviation_db, again.deviation_db)
    other = yield_of(solved, layout, like, replace(draw, seed=2))
    assert not np.array_equal(first.deviation_db, other.deviation_db)
    batch = yield_of(solved, layout, like, replace(draw, one_batch=True))
    assert not np.array_equal(first.deviation_db, batch.deviation_db)


def test_nothing_off_is_the_design_itself() -> None:
    """Levels of a build with nothing off are the ear-smoothed ones that the seats are judged by."""
    solved = situation("trio")
    layout, like = layout_of(solved.design), listen(solved, Goal()).evaluator
    house = _House(solved, layout, like)
    found = house.levels(np.zeros((1, len(layout.parts))), np.zeros((1, 4, 4)))[:, :, 0]
    bands = judged_bands(solved.grid)
    for number, seat in enumerate(solved.seats):
        np.testing.assert_allclose(found[:, number], seat.in_room_smoothed_db[bands], atol=1e-6)
