"""The reference solution of a design: solved once a shape, kept band by band, joined to the instant model."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.design import Change, Design
from forehear.ground.axes import Directions, sphere_directions
from forehear.ground.errors import SurfaceError, TooLittleMemory
from forehear.ground.findings import Level
from forehear.ground.flowing import DriverPressure
from forehear.ground.store import KeptResults
from forehear.room import NODES
from forehear.spine import SolverChoice, as_plain_data, one_solver, predict, refining
from forehear.spine.disagreement import disagreement_findings, disagreements, worst_octave
from forehear.spine.origin import estimated_in
from forehear.spine.refined import USUAL, Reach, between
from forehear.spine.refining import Moving, Shape, finished, named, refine
from forehear.spine.situation import Setting, begin, refine_design
from forehear.spine.translate import shape_of, speaker_of
from rooms.attic import candidate
from rooms.refined import HEARING, SMALL, Counted

AHEAD = Directions(np.array([[1.0, 0.0, 0.0]]))
AROUND = Directions.joined(Directions.horizontal_orbit(), Directions.vertical_orbit())


def twin() -> Design:
    return candidate("twin")


def shape(design: Design) -> Shape:
    return shape_of(design, speaker_of(design, HEARING.grid))


def changed(*path: str, to: str) -> Design:
    return twin().with_changes([Change(path, to)])


# --- bands and blend ---


@pytest.mark.parametrize("reach", [USUAL, SMALL])
def test_bands_hold_every_frequency_that_is_asked_for_once(reach: Reach) -> None:
    every = np.concatenate(reach.bands_hz)
    assert np.all(np.diff(every) > 0)
    assert every[-1] <= reach.top_hz < 1.06 * every[-1]
    for grid in (HEARING.grid, NODES):
        assert set(grid.frequency_hz[grid.frequency_hz <= reach.top_hz]) <= set(every)
    for band in reach.bands_hz:  # one mesh serves half an octave, or the coarsest serves all
        assert band[-1] < 1.45 * band[0] or band[-1] <= np.sqrt(2.0) * reach.own_band_from_hz


def test_the_blend_goes_smoothly_from_one_to_the_other() -> None:
    hz = np.geomspace(100.0, 2000.0, 500)
    share = SMALL.share_of_instant(hz)
    assert np.all(share[hz <= SMALL.blend_from_hz] == 0)
    assert np.all(share[hz >= SMALL.top_hz] == 1)
    assert np.diff(share).min() >= 0
    assert np.diff(share).max() < 0.03
    one, other = np.exp(0.3j) * np.ones(500), 2 * np.exp(0.5j) * np.ones(500)
    joined = between(one, other, share)
    np.testing.assert_allclose(np.abs(joined), 2**share, rtol=1e-12)
    assert np.all((np.angle(joined) >= 0.3 - 1e-12) & (np.angle(joined) <= 0.5 + 1e-12))
    np.testing.assert_allclose(joined[share == 0.0], one[share == 0.0])
    np.testing.assert_allclose(joined[share == 1.0], other[share == 1.0])


def test_opposite_phases_leave_no_hole_where_solvers_are_joined() -> None:
    halves = np.linspace(0, 1, 11)
    np.testing.assert_allclose(np.abs(between(np.ones(11) + 0j, -np.ones(11) + 0j, halves)), 1.0)
    np.testing.assert_allclose(
        np.abs(between(np.zeros(3) + 0j, np.zeros(3) + 0j, halves[:3])), 0.0, atol=1e-200
    )


# --- what it says ---


def levels(setting: Setting, directions: Directions) -> NDArray[np.float64]:
    """Level of each driver per m/s of its own, [source, direction, frequency]."""
    speaker = setting.speaker
    fields = [speaker.field(source, directions) for source in range(len(speaker.sources))]
    return 20 * np.log10(np.abs(fields))


def test_low_down_a_driver_is_its_volume_velocity(solved: Counted) -> None:
    """rho f S / 2 at 1 m in every direction: a source small against the wavelength, on a small box."""
    setting = begin(twin(), HEARING)
    speaker = setting.speaker
    area = np.array([diaphragm.area_m2 for diaphragm in speaker.diaphragms])
    monopole = speaker.air.density_kg_m3 * setting.grid.frequency_hz * area[:, None] / 2
    apart_db = levels(setting, sphere_directions(30.0)[0]) - 20 * np.log10(monopole)[:, None, :]
    assert np.abs(apart_db[..., 0]).max() < 0.06  # at 20 Hz
    assert solved.bands == 0


def test_below_the_blend_it_is_exact_above_it_instant_and_nowhere_a_step(solved: Counted) -> None:
    setting = begin(twin(), HEARING)
    hz, refined = setting.grid.frequency_hz, setting.speaker.refined
    assert refined is not None
    joined, instant = levels(setting, AROUND), levels(begin(twin(), HEARING.instant()), AROUND)
    above = hz >= SMALL.top_hz
    np.testing.assert_array_equal(joined[..., above], instant[..., above])
    below = hz <= SMALL.blend_from_hz
    place_m = (*(np.array(twin().drivers[0].centre_m)), twin().drivers[0].set_back_m)
    alone = refined.pressure(0, place_m, AROUND, hz[below])
    np.testing.assert_allclose(joined[0][:, below], 20 * np.log10(np.abs(alone)), atol=1e-9)
    near = (hz > 0.7 * SMALL.blend_from_hz) & (hz < 1.4 * SMALL.top_hz)
    steps = np.abs(np.diff(joined[..., near], axis=-1))
    apart = np.abs(joined - instant)[..., below].max()
    assert (
        steps.max() < 0.5 + 0.15 * apart
    )  # 1/24 octave, of some 20 that the blend has for all that lies between
    assert solved.bands == 0


def test_in_front_both_solvers_are_close_together(solved: Counted) -> None:
    setting = begin(twin(), HEARING)
    hz = setting.grid.frequency_hz
    front = Directions(AROUND.unit[AROUND.unit[:, 0] > 0.5])
    apart_db = levels(setting, front) - levels(begin(twin(), HEARING.instant()), front)
    assert np.sqrt(np.mean(apart_db[..., hz < SMALL.top_hz] ** 2)) < 0.6
    assert np.abs(apart_db).max() > 0.1
    assert solved.bands == 0


def test_what_the_room_takes_is_refined_too(solved: Counted) -> None:
    """The nodes of later reflections come from the same solution: near the mean of the two bands beside."""
    exact, instant = (begin(twin(), hearing).speaker for hearing in (HEARING, HEARING.instant()))
    at_nodes = exact.field_on(0, AROUND, NODES)
    assert np.any(at_nodes != instant.field_on(0, AROUND, NODES))
    bands_db = 20 * np.log10(np.abs(exact.field(0, AROUND)))
    hz = HEARING.grid.frequency_hz
    for node in np.flatnonzero(NODES.frequency_hz < SMALL.top_hz)[1:]:
        upper = int(np.searchsorted(hz, NODES.frequency_hz[node]))
        between_db = bands_db[:, upper - 1 : upper + 1].mean(axis=1)
        assert np.abs(20 * np.log10(np.abs(at_nodes[:, node])) - between_db).max() < 0.15
    assert solved.bands == 0


# --- when it is solved ---


def test_a_changed_network_never_solves_and_keeps_it(solved: Counted) -> None:
    before = begin(twin(), HEARING).speaker.refined
    for path, text in (
        (("ways", "high", "network", 0, "series", "resistor"), "2 ohm"),
        (("ways", "low", "enclosure", "closed"), "12 l"),
        (("placements", "centre", "turn"), "10 deg"),
        (("reference",), "woofer left"),
        (("drivers", "woofer left", "set back"), "10 mm"),
    ):
        after = begin(twin().with_changes([Change(path, text)]), HEARING).speaker.refined
        assert before is not None
        assert after is before, path
    assert solved.bands == 0


@pytest.mark.parametrize(
    ("path", "text"),
    [
        (("drivers", "tweeter", "centre"), "[1 mm, 54 mm]"),
        (("cabinet", "depth"), "261 mm"),
        (("cabinet", "edge radius"), "11 mm"),
    ],
)
def test_a_changed_shape_falls_back_to_the_instant_solver_and_back(
    solved: Counted, path: tuple[str, ...], text: str
) -> None:
    assert begin(changed(*path, to=text), HEARING).speaker.refined is None
    assert begin(twin(), HEARING).speaker.refined is not None
    assert solved.bands == 0


def test_moved_drivers_and_causes_are_heard_by_the_instant_solver(solved: Counted) -> None:
    speaker = begin(twin(), HEARING).speaker
    moved = speaker.with_moved({"tweeter": np.array([0.0, 0.001])})
    reshaped = speaker.with_shape(speaker.diaphragms, edges=True)
    assert (moved.refined, reshaped.refined) == (None, None)
    assert len({speaker.acoustics, reshaped.acoustics}) == 2
    assert solved.bands == 0


class Stopped(Exception):
    pass


def test_a_stopped_solve_goes_on_where_it_was(unsolved: Counted, twin_solved: Path) -> None:
    told: list[float] = []

    def stop_in_the_second_band(share: float, doing: str) -> None:
        told.append(share)
        if unsolved.bands == 2:
            raise Stopped(doing)

    with pytest.raises(Stopped):
        refine_design(twin(), SMALL, stop_in_the_second_band)
    assert told == sorted(told)
    assert finished(shape(twin()), SMALL) is None
    assert begin(twin(), HEARING).speaker.refined is None
    found = refine_design(twin(), SMALL)
    assert unsolved.bands == len(SMALL.bands_hz) + 1  # the one that was stopped was begun twice
    assert refine_design(twin(), SMALL) is found
    assert unsolved.bands == len(SMALL.bands_hz) + 1
    assert twin_solved.is_dir()


def test_a_damaged_band_is_solved_again_and_nothing_else(solved: Counted, tmp_path: Path) -> None:
    whole = finished(shape(twin()), SMALL)
    assert whole is not None
    spoilt = sorted((tmp_path / "cache").rglob("*.npz"))[0]  # of one source
    data = spoilt.read_bytes()
    spoilt.write_bytes(data[:1000] + bytes(10) + data[1010:])
    refining._loaded = KeptResults(6)  # what memory holds is forgotten
    assert finished(shape(twin()), SMALL) is None
    again = refine_design(twin(), SMALL)
    assert [len(sources) for sources in solved.sources] == [1]
    for band, before in zip(again.bands, whole.bands, strict=True):
        apart = np.abs(band.coefficient_pa - before.coefficient_pa)
        assert apart.max() < 2e-3 * np.abs(before.coefficient_pa).max()


# --- what cannot be solved ---


def test_a_shape_that_cannot_be_meshed_is_refused_in_words() -> None:
    """Names as the file has them, where they stand, and a cure."""
    far = Shape(
        (0.2, 0.2, 0.2), 0.02, (Moving((0.0, 0.0), 0.03), Moving((0.06, 0.0), 0.025)), twin().brief.air
    )
    with pytest.raises(SurfaceError) as error:
        refine(far, SMALL)
    said = named(error.value, ("woofer", "tweeter"), "a.yaml:4:1  drivers")
    assert said.what.startswith(
        "the reference solver cannot take this shape: tweeter of 25.0 mm radius reaches 5.0 mm"
    )
    assert (said.where, said.cure) == ("a.yaml:4:1  drivers", error.value.cure)
    near = replace(far, moving=(Moving((0.0, 0.0), 0.03), Moving((0.02, 0.0), 0.025)))
    with pytest.raises(SurfaceError) as error:
        refine(near, SMALL)
    assert "woofer and tweeter overlap by 35.0 mm" in named(error.value, ("woofer", "tweeter"), "").what


def test_too_little_memory_keeps_what_is_done(unsolved: Counted, monkeypatch: pytest.MonkeyPatch) -> None:
    solve = refining._solved

    def all_but_the_last(*arguments: object) -> object:
        if unsolved.bands == len(SMALL.bands_hz) - 1:
            raise TooLittleMemory("9 unknowns need more", cure="buy some")
        return solve(*arguments)  # type: ignore[arg-type]

    with monkeypatch.context() as patch:
        patch.setattr(refining, "_solved", all_but_the_last)
        with pytest.raises(TooLittleMemory):
            refine_design(twin(), SMALL)
    refine_design(twin(), SMALL)
    assert unsolved.bands == len(SMALL.bands_hz)


# --- predictions ---


def test_a_prediction_says_which_solver_holds_where(solved: Counted) -> None:
    auto = predict(twin(), reach=SMALL)
    instant = predict(twin(), reach=SMALL, solver=SolverChoice.INSTANT)
    assert auto.trace.solver_words == "reference to 560 Hz, instant from 800 Hz"
    assert instant.trace.solver_words == "instant solver"
    trace = as_plain_data(auto)["trace"]
    assert trace["solver"] == "reference"
    assert [band["solver"] for band in trace["bands"]] == ["reference", "reference and instant", "instant"]
    ends = [(band["from_hz"], band["to_hz"]) for band in trace["bands"]]
    assert [end[1] for end in ends[:-1]] == [end[0] for end in ends[1:]] == [560.0, 800.0]
    assert as_plain_data(instant)["trace"]["bands"][0]["solver"] == "instant"
    assert len(as_plain_data(instant)["trace"]["bands"]) == 1
    seats = list(zip(auto.seats, instant.seats, strict=True))
    assert all(one.spread_db != other.spread_db for one, other in seats)
    assert max(abs(one.spread_db - other.spread_db) for one, other in seats) < 0.5
    assert {finding.code for finding in instant.findings} <= {finding.code for finding in auto.findings}
    assert solved.bands == 0


def test_asked_for_the_reference_a_prediction_solves_it(unsolved: Counted) -> None:
    told: list[tuple[float, str]] = []
    found = predict(
        twin(), reach=SMALL, solver=SolverChoice.REFERENCE, progress=lambda *news: told.append(news)
    )
    assert unsolved.bands == len(SMALL.bands_hz)
    assert found.trace.solver == "reference"
    assert [share for share, _ in told] == sorted(share for share, _ in told)
    assert any("compiled" in doing for _, doing in told)


def test_candidates_are_compared_by_one_solver(solved: Counted) -> None:
    auto, instant, reference = SolverChoice.AUTO, SolverChoice.INSTANT, SolverChoice.REFERENCE
    assert one_solver([twin()], auto, SMALL) is auto
    assert one_solver([twin(), candidate("stack")], auto, SMALL) is instant
    assert one_solver([twin(), candidate("stack")], reference, SMALL) is reference
    assert one_solver([twin()], instant, SMALL) is instant
    assert solved.bands == 0


def test_what_is_simplified_is_said(solved: Counted) -> None:
    refined = begin(twin(), HEARING).speaker.refined
    exact, instant = " / ".join(estimated_in(twin(), refined)), " / ".join(estimated_in(twin(), None))
    assert "edges of 12 mm radius act up to 800 Hz; above they are taken as sharp" in exact
    assert "edges are taken as sharp; the radius of 12 mm acts in the reference solver only" in instant
    assert "a flat piston" not in exact
    assert "from 560 Hz the instant solver takes over" in exact
    for said in (exact, instant):
        assert "Cone 130: flat pistons in the front" in said
        assert "ports" not in said
    assert solved.bands == 0
    assert "ports: flat pistons in the front" in " / ".join(estimated_in(candidate("stack"), None))


# --- disagreement ---


def test_the_worst_octave_is_found_among_what_counts() -> None:
    apart = np.zeros((10, 72))
    apart[:, 30:54] = 2.0
    apart[:, :24] = 50.0
    counts = np.ones((10, 72), dtype=bool)
    counts[:, :30] = False
    worst = worst_octave(apart, counts)
    assert worst == (9, pytest.approx(2.0))  # the first that holds enough of what counts and nothing else
    counts[1:] = False
    counts[0, 6:] = False
    assert worst_octave(apart, counts) is None
    assert worst_octave(apart[:, :20], np.ones((10, 20), dtype=bool)) is None


def test_a_driver_that_one_solver_makes_louder_is_found(solved: Counted) -> None:
    """3 dB more from the reference for one driver show as 3 dB more, and make a finding with its name."""
    setting = begin(twin(), HEARING)
    assert disagreements(begin(twin(), HEARING.instant())) == ()
    plain = {one.driver: one for one in disagreements(setting)}
    assert {"woofer left", "woofer right"} <= plain.keys()
    refined = setting.speaker.refined
    assert refined is not None
    louder = tuple(
        replace(
            band, coefficient_pa=band.coefficient_pa * np.array([10 ** (4 / 20), 1.0, 1.0])[:, None, None]
        )
        for band in refined.bands
    )
    other = replace(setting.speaker, refined=replace(refined, bands=louder, key="louder"))
    found = {one.driver: one for one in disagreements(replace(setting, speaker=other))}
    assert found["woofer left"].ahead_db == pytest.approx(4.0, abs=1.0)
    assert found["woofer right"].rms_db == pytest.approx(plain["woofer right"].rms_db, abs=0.3)
    (told,) = disagreement_findings(replace(setting, speaker=other))
    assert told.level is Level.CHECK
    assert "woofer left" in told.what
    assert told.where.startswith("twin.yaml:")
    assert solved.bands == 0


def test_a_driver_pressure_keeps_its_type(solved: Counted) -> None:
    pressure = begin(twin(), HEARING).speaker.pressure(AHEAD)
    assert isinstance(pressure, DriverPressure)
    assert pressure.pressure_pa_v.shape == (3, 1, 240)
    assert solved.bands == 0
