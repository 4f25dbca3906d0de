"""How sure the numbers of seats are: ranges repeat, hold what they promise, and widen with what is unsure."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise

import numpy as np
import pytest

from forehear.design import Change, Design, load
from forehear.ground.air import Air
from forehear.ground.axes import FrequencyGrid
from forehear.room import NODES, Block, LinearGrid, Sending, arrivals_sums, toward_each
from forehear.spine.doubts import Doubts, Otherwise, absorption_of, moved_inside, otherwise
from forehear.spine.hearing import speech_at
from forehear.spine.live import explain, solve_live, with_ranges
from forehear.spine.prediction import RANGED, Range, SeatRanges
from forehear.spine.situation import Situation, solve_situation
from forehear.spine.sureness import FEWEST_DRAWS, LightPath, seat_ranges
from forehear.spine.translate import programme_of
from rooms.attic import HEARING, candidate, copied, situation

HEARD = (FrequencyGrid.standard(), Air())
SOLVER_ALONE = Doubts((0.0,), 0.0, 0.0, 0.0, 0.0)


@pytest.fixture(scope="module")
def one_seat(tmp_path_factory: pytest.TempPathFactory) -> Situation:
    """Two drivers heard from one armchair."""
    folder = copied(tmp_path_factory.mktemp("armchair") / "attic")
    brief = folder / "brief.yaml"
    lines = brief.read_text(encoding="utf-8").splitlines()
    kept = [line for line in lines if not line.startswith(("  sofa", "  main seats"))]
    brief.write_text("\n".join(kept), encoding="utf-8")
    return solve_situation(load(folder / "stack.yaml"), HEARING)


def own_doubts(found: Situation) -> Doubts:
    return Doubts.of(found.design, found.speaker.drivers)


def times(doubts: Doubts, factor: float) -> Doubts:
    return Doubts(
        tuple(factor * depth_m for depth_m in doubts.acoustic_depth_m),
        factor * doubts.driver_spread_db,
        factor * doubts.absorption_share,
        factor * doubts.speaker_position_m,
        factor * doubts.seat_position_m,
        factor * doubts.solver_db,
    )


def range_of(ranges: SeatRanges, number: str) -> Range:
    found: Range = getattr(ranges, number)
    return found


# --- what is drawn ----------------------------------------------------------------------------------------------------


def many(doubts: Doubts, count: int = 4000) -> list[Otherwise]:
    return [otherwise(doubts, (1, 2), HEARD, (5, index)) for index in range(count)]


def test_draws_lie_evenly_within_their_half_widths() -> None:
    """A uniform law of half width w has the standard deviation w / sqrt(3)."""
    found = many(Doubts((0.003, 0.001), 0.5, 0.2, 0.05, 0.02, 0.0), 1500)
    wave_number = 2 * np.pi * HEARD[0].frequency_hz / HEARD[1].sound_speed_m_s
    drive = np.array([one.drive for one in found])
    moves = {
        0.5: 20 * np.log10(np.abs(drive[:, :, 7])),
        0.2: np.array([one.absorption for one in found]) - 1,
        0.05: np.array([one.speaker_m for one in found]),
        0.02: np.array([one.seat_m for one in found]),
        0.003: -np.angle(drive[:, 0]) / wave_number,
        0.001: -np.angle(drive[:, 1]) / wave_number,
    }
    for half, drawn in moves.items():
        assert np.abs(drawn).max() <= half * (1 + 1e-9)
        assert drawn.std(axis=0) == pytest.approx(half / np.sqrt(3), rel=0.1)
        assert np.abs(drawn.mean(axis=0)).max() < 0.1 * half


def test_the_solver_misses_as_much_everywhere_and_smoothly() -> None:
    grid, _ = HEARD
    drive = np.array([one.drive[0] for one in many(SOLVER_ALONE)])
    missed_db = 20 * np.log10(np.abs(drive))
    assert missed_db.std(axis=0) == pytest.approx(0.5, rel=0.08)
    assert np.abs(np.diff(missed_db, axis=1)).max() < 0.5  # a twenty-fourth of an octave
    octave_apart = np.mean(missed_db[:, 60] * missed_db[:, 60 + 48])  # two octaves: nothing shared
    assert abs(octave_apart) < 0.02
    assert np.array_equal(np.angle(drive), np.zeros((len(drive), len(grid))))


def test_candidates_of_one_brief_are_drawn_in_the_same_places() -> None:
    few, more = (Doubts((0.003,) * drivers, 0.5, 0.2, 0.05, 0.05) for drivers in (1, 4))
    one, other = (otherwise(doubts, (2, 3), HEARD, (1, 8)) for doubts in (few, more))
    for name in ("absorption", "speaker_m", "seat_m"):
        assert np.array_equal(getattr(one, name), getattr(other, name))


def test_open_sides_stay_open_and_nothing_swallows_everything() -> None:
    stated = np.array([[1.0] * 8, [0.95] * 8, [0.1] * 8])
    found = absorption_of(stated, np.array([0.8, 1.2, 1.2]))
    assert found[:, 0] == pytest.approx([1.0, 0.99, 0.12])
    assert np.array_equal(absorption_of(stated, np.ones(3)), stated)


def test_nothing_is_moved_through_a_wall() -> None:
    places = np.array([[0.03, 1.0, 1.0], [0.2, 3.97, 1.0]])
    assert moved_inside(places, np.array([-0.05, 0.05, 0.05]), (5.0, 4.0, 2.4)) == pytest.approx(
        [-0.02, 0.02, 0.05]
    )
    close = np.array([[0.004, 1.0, 1.0]])  # nearer to the wall than anything is moved
    assert moved_inside(close, np.array([-0.05, 0, 0]), (5.0, 4.0, 2.4)) == pytest.approx([0, 0, 0])


def test_a_driver_that_says_how_sure_its_depth_is_is_believed() -> None:
    twin = situation("twin")
    depths_m = dict(zip(twin.speaker.drivers, own_doubts(twin).acoustic_depth_m, strict=True))
    assert depths_m == {"woofer left": 0.004, "woofer right": 0.004, "tweeter": 0.003}


# --- sums for the light path ------------------------------------------------------------------------------------------


def test_several_sets_are_summed_term_by_term() -> None:
    """Held against the plain sum of exponentials, amplitudes straight in log frequency between nodes."""
    random, grid = np.random.default_rng(4), LinearGrid(NODES, (Block(7, 21, 8.0), Block(21, 24, 8.0)))
    amplitude = random.normal(size=(3, 50, len(NODES), 2)).astype(np.float32).view(np.complex64)[..., 0]
    time_s, hz = random.uniform(0.0, 0.06, (3, 50)), grid.frequency_hz
    place = np.interp(np.log(hz), np.log(NODES.frequency_hz), np.arange(float(len(NODES))))
    node, share = place.astype(int), place - place.astype(int)
    between = amplitude[..., node] * (1 - share) + amplitude[..., node + 1] * share
    wanted = (between * np.exp(-2j * np.pi * time_s[..., np.newaxis] * hz)).sum(axis=1)
    np.testing.assert_allclose(arrivals_sums(amplitude, time_s, grid), wanted, atol=0.01)


def test_sources_looked_up_together_send_what_each_sends() -> None:
    random = np.random.default_rng(5)
    tables = random.normal(size=(2, 162, len(NODES), 2)).view(complex)[..., 0]
    sendings = [Sending(20.0, table) for table in tables]
    departure_m = random.normal(size=(2, 30, 3))
    distance_m = np.linalg.norm(departure_m, axis=2)
    together = toward_each(sendings, departure_m, distance_m)
    for index, sending in enumerate(sendings):
        alone = sending.toward(departure_m[index], distance_m[index])
        np.testing.assert_allclose(together[index], alone, rtol=1e-5)
    with pytest.raises(ValueError, match="one step"):
        toward_each([sendings[0], Sending(90.0, np.ones((8, len(NODES))))], departure_m, distance_m)


# --- ranges of seats --------------------------------------------------------------------------------------------------


def stated_numbers(found: Situation, seat: int) -> dict[str, float]:
    heard, programme = found.seats[seat], programme_of(found.design.brief)
    speech = speech_at(found.sounds[seat], found.network.voltage, programme)
    return {
        "spread_db": heard.spread_db,
        "direct_spread_db": heard.direct_spread_db,
        "hole_db": heard.hole.depth_db if heard.hole else 0.0,
        "direct_hole_db": heard.direct_hole.depth_db if heard.direct_hole else 0.0,
        "c50_db": speech.c50_db,
        "u50_db": speech.u50_db,
        "sti": speech.sti,
    }


def test_a_seed_repeats_exactly_and_another_does_not(one_seat: Situation) -> None:
    """More draws begin with the same ones; so nothing kept from before answers."""
    fewer, more, other = (
        seat_ranges(one_seat, draws=draws, seed=seed)[0] for draws, seed in ((19, 1), (21, 1), (19, 2))
    )
    assert np.array_equal(fewer.drawn, more.drawn[:, :19])
    assert fewer.mattering == more.mattering
    assert not np.array_equal(fewer.drawn, other.drawn)
    assert seat_ranges(one_seat, draws=19, seed=1)[0] is fewer  # kept


@pytest.mark.parametrize("name", ["twin", "trio"])
def test_where_nothing_is_unsure_every_range_is_the_number_itself(name: str) -> None:
    found = situation(name)
    ranges = seat_ranges(found, draws=FEWEST_DRAWS, doubts=own_doubts(found).none())
    for index, own in enumerate(ranges):
        for number, value in stated_numbers(found, index).items():
            assert (range_of(own, number).low, range_of(own, number).high) == pytest.approx((value, value))
        assert (own.mattering, own.matters_most) == ((), "nothing")


def test_ranges_say_whose_they_are_and_agree_with_their_draws() -> None:
    found = situation("twin")
    ranges = seat_ranges(found, draws=25)
    assert [(one.placement, one.name) for one in ranges] == [
        (seat.placement, seat.name) for seat in found.seats
    ]
    for one in ranges:
        assert one.drawn.shape == (len(RANGED), 25)
        for number in RANGED:
            assert range_of(one, number) == Range.of(one.drawn_of(number))
            assert range_of(one, number).low <= range_of(one, number).high


@pytest.mark.parametrize("number", ["spread_db", "direct_spread_db", "c50_db", "sti"])
def test_the_more_is_unsure_the_wider_the_range(one_seat: Situation, number: str) -> None:
    """The same draws go further, so no chance is left but in how curved the way there is."""
    widths = []
    for factor in (0.25, 0.5, 1.0, 2.0):
        own = range_of(scaled_ranges(one_seat, factor), number)
        widths.append(own.high - own.low)
    assert all(wider > narrower for narrower, wider in pairwise(widths))


@lru_cache
def scaled_ranges(found: Situation, factor: float) -> SeatRanges:
    return seat_ranges(found, doubts=times(own_doubts(found), factor))[0]


def test_ranges_hold_the_truth_about_nine_times_in_ten(one_seat: Situation) -> None:
    """Truths are drawn from the same doubts by other seeds; the bounds are four standard deviations wide.

    Of one range of n draws the share that it holds follows a beta law of variance 0.09 / (n + 2) (Wilks 1941, from
    memory); the truths add that of a binomial law. Holes are left out: many of them are 0, ends included.
    """
    draws, times_drawn = 40, 10
    truths = seat_ranges(one_seat, draws=150, seed=2)[0]
    drawn = seat_ranges(one_seat, draws=draws * times_drawn, seed=1)[0]
    slack = 4 * np.sqrt(0.09 / (draws + 2) / times_drawn + 0.09 / 150)
    for number in ("spread_db", "direct_spread_db", "c50_db", "u50_db", "sti"):
        values = truths.drawn_of(number)
        held = [Range.of(own) for own in drawn.drawn_of(number).reshape(times_drawn, draws)]
        inside = np.mean([(values >= one.low) & (values <= one.high) for one in held])
        assert abs(inside - 0.9) < slack, (number, inside)


def test_seats_that_mirror_each_other_have_ranges_that_do() -> None:
    """The sofa, the room and the cabinet are alike on both sides; the draws are not, so only nearly."""
    ranges = {one.name: one for one in seat_ranges(situation("twin"), draws=80)}
    for number in ("spread_db", "direct_spread_db", "c50_db", "sti"):
        left, right = (range_of(ranges[name], number) for name in ("sofa left", "sofa right"))
        width = (left.high - left.low + right.high - right.low) / 2
        assert abs(left.low - right.low) < 0.35 * width
        assert abs(left.high - right.high) < 0.35 * width


def test_what_is_alone_unsure_matters_most(one_seat: Situation) -> None:
    doubts = own_doubts(one_seat)
    for words, alone in doubts.alone().items():
        own = seat_ranges(one_seat, draws=FEWEST_DRAWS, doubts=alone)[0]
        assert own.matters_most == words
        assert [one.what for one in own.mattering] == [words]
    everything = seat_ranges(one_seat)[0].mattering
    assert [one.moves_db for one in everything] == sorted((one.moves_db for one in everything), reverse=True)
    assert {one.what for one in everything} == set(doubts.alone())


def test_too_few_draws_are_refused(one_seat: Situation) -> None:
    with pytest.raises(ValueError, match="at least 19 draws, not 18"):
        seat_ranges(one_seat, draws=18)


def moved(design: Design, text: str) -> Design:
    return design.with_changes([Change(("placements", "centre", "position"), text)])


@pytest.mark.parametrize("position", ["[0.59 m, 2.10 m, 0.62 m]", "[0.55 m, 2.06 m, 0.66 m]"])
def test_the_light_path_tells_what_a_move_does_as_the_whole_way_does(position: str) -> None:
    """A design that stands 40 mm elsewhere, solved anew with its edges, all images and modes."""
    here, there = situation("twin"), solve_situation(moved(candidate("twin"), position), HEARING)
    x_y_z = [float(part.split()[0]) for part in position.strip("[]").split(",")]
    move_m = np.array(x_y_z) - here.scene.poses[0].middle_of_front_m
    drawn = numbers_when(here, move_m)
    for seat in range(len(here.seats)):
        before, after = stated_numbers(here, seat), stated_numbers(there, seat)
        for number, tolerance in (
            ("spread_db", 0.12),
            ("direct_spread_db", 0.3),
            ("c50_db", 0.12),
            ("sti", 0.004),
        ):
            change = drawn[seat][number] - before[number]
            assert change == pytest.approx(after[number] - before[number], abs=tolerance), (seat, number)


def numbers_when(found: Situation, move_m: Sequence[float]) -> list[dict[str, float]]:
    """Numbers of all seats by the light path with the speaker moved, all else as stated."""
    light = LightPath(found)
    other = replace(light.as_stated, speaker_m=np.array([move_m]))
    return [dict(zip(RANGED, own, strict=True)) for own in light.numbers(other).tolist()]


# --- progress ---------------------------------------------------------------------------------------------------------


class Stop(Exception):
    """Raised by whoever listens."""


def stopping_at(share: float, told: list[tuple[float, str]]) -> Callable[[float, str], None]:
    def progress(done: float, doing: str) -> None:
        told.append((done, doing))
        if done >= share:
            raise Stop

    return progress


def test_the_work_can_be_stopped(one_seat: Situation) -> None:
    told: list[tuple[float, str]] = []
    with pytest.raises(Stop):
        seat_ranges(one_seat, draws=200, progress=stopping_at(0.3, told))
    shares = [share for share, _ in told]
    assert shares == sorted(shares)
    assert 0.3 <= shares[-1] < 0.45
    assert told[-1][1] == "Stack: how sure this is"


def test_ranges_are_added_to_the_reasons_and_may_be_stopped() -> None:
    live = solve_live(candidate("stack", 2.0), HEARING)
    reasons = explain(live)
    assert all(seat.ranges is None for seat in reasons.seats)
    told: list[tuple[float, str]] = []
    ranged = with_ranges(live, reasons, lambda share, doing: told.append((share, doing)))
    assert [share for share, _ in told] == sorted(share for share, _ in told)
    assert any("how sure" in doing for _, doing in told)
    assert all(seat.ranges and seat.ranges.name == seat.name for seat in ranged.seats)
    turned = solve_live(candidate("stack", 3.0), HEARING)
    with pytest.raises(Stop):
        with_ranges(turned, explain(turned), stopping_at(0.5, []))
