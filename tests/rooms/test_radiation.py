"""Laws that the sound of any diaphragm in any cabinet keeps."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from forehear.ground.air import Air
from forehear.ground.axes import ORBIT_ANGLES_DEG, Directions, FrequencyGrid, sphere_directions
from forehear.ground.errors import OutsideValidity
from forehear.radiation import (
    Diaphragm,
    Front,
    dome_directivity,
    equal_volume_sphere_radius_m,
    instant_pressure,
    piston_directivity,
    prepare,
)

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

AIR = Air()
COARSE_HZ = np.geomspace(20.0, 20_000.0, 31)
AHEAD = Directions(np.array([[1.0, 0.0, 0.0]]))
ORBITS = Directions.joined(Directions.horizontal_orbit(), Directions.vertical_orbit())
BOOKSHELF = Front.rectangle(0.2, 0.34, 0.26)
CENTRE = Front.rectangle(0.452, 0.18, 0.26)
THREE_WAY = Front.rectangle(0.54, 0.22, 0.26)
TOWER = Front.rectangle(0.2, 0.9, 0.3)
sizes = st.floats(0.12, 0.6)
places = st.floats(-0.45, 0.45)  # of the free way between the rims and the edges


@st.composite
def speakers(draw: st.DrawFn) -> tuple[Diaphragm, Front]:
    """A diaphragm somewhere on a rectangular front."""
    width, height, depth = draw(sizes), draw(sizes), draw(sizes)
    radius = draw(st.sampled_from([0.0, 0.012, 0.05]))
    free = np.array([width, height]) - 2 * radius - 0.01
    y, z = draw(places) * free[0], draw(places) * free[1]
    area = math.pi * radius**2 or 1e-3
    dome = draw(st.sampled_from([0.0, 0.3])) * radius
    return Diaphragm((y, z), radius, area, dome_height_m=dome), Front.rectangle(width, height, depth)


def free_source(diaphragm: Diaphragm, frequency_hz: Floats) -> Floats:
    """Magnitude of a free source of equal volume velocity at 1 m: omega rho S / 4 pi."""
    return np.asarray(0.5 * frequency_hz * AIR.density_kg_m3 * diaphragm.area_m2)


def gain(diaphragm: Diaphragm, front: Front, directions: Directions, frequency_hz: Floats) -> Complexes:
    pressure = instant_pressure(diaphragm, front, directions, frequency_hz, AIR)
    return np.asarray(pressure / free_source(diaphragm, frequency_hz))


def db(ratio: Complexes | Floats) -> Floats:
    return np.asarray(20 * np.log10(np.maximum(np.abs(ratio), 1e-10)))


def disc(y: float, z: float, radius_m: float, dome_height_m: float = 0.0) -> Diaphragm:
    return Diaphragm((y, z), radius_m, math.pi * radius_m**2 or 1e-3, dome_height_m)


TYPICAL = {
    "bookshelf cone": (BOOKSHELF, disc(0.0, -0.06, 0.052)),
    "bookshelf dome": (BOOKSHELF, disc(0.0, 0.08, 0.014, 0.005)),
    "bookshelf point": (BOOKSHELF, disc(0.02, 0.08, 0.0)),
    "centre cone": (CENTRE, disc(0.146, 0.0, 0.052)),
    "centre dome": (CENTRE, disc(0.0, 0.02, 0.014, 0.005)),
    "three-way woofer": (THREE_WAY, disc(0.2, 0.0, 0.065)),
    "three-way large woofer": (THREE_WAY, disc(-0.18, 0.0, 0.08)),
    "three-way midrange": (THREE_WAY, disc(0.0, -0.045, 0.037)),
    "three-way dome": (THREE_WAY, disc(0.0, 0.05, 0.0125, 0.004)),
    "tower woofer": (TOWER, disc(0.0, -0.3, 0.065)),
    "tower midrange": (TOWER, disc(0.0, 0.15, 0.05)),
    "tower dome": (TOWER, disc(0.0, 0.35, 0.0125, 0.004)),
}
AT_THE_EDGE = {
    "bookshelf cone": (BOOKSHELF, disc(0.0479, -0.1, 0.052)),
    "tower woofer": (Front.rectangle(0.2, 0.77, 0.2), disc(0.01, 0.3048, 0.08)),
    "shallow box": (Front.rectangle(0.25, 0.47, 0.15), disc(0.0, 0.1548, 0.08)),
    "small cone": (Front.rectangle(0.36, 0.85, 0.43), disc(0.1498, 0.3948, 0.03)),
}


@given(speakers())
def test_at_low_frequency_every_cabinet_is_a_free_source(speaker: tuple[Diaphragm, Front]) -> None:
    directions, _ = sphere_directions(30.0)
    every_way = Directions.joined(directions, ORBITS)
    assert np.max(np.abs(db(gain(*speaker, every_way, np.array([10.0]))))) < 0.1


@settings(max_examples=10)
@given(speakers(), st.sampled_from(["edges", "baffle"]))
def test_directions_asked_for_one_by_one_get_the_same_answer(
    speaker: tuple[Diaphragm, Front], kind: str
) -> None:
    ready = prepare(*speaker, COARSE_HZ, AIR, edges_to_hz=np.inf if kind == "edges" else 0.0)
    together = ready.pressure(ORBITS)
    for at in (0, 17, 24, 30, 36, 54, 71, 80, 143):  # straight behind and straight ahead among them
        alone = ready.pressure(Directions(ORBITS.unit[at : at + 1]))
        np.testing.assert_allclose(alone[0], together[at], rtol=1e-9, atol=1e-12)


@given(speakers(), st.floats(-math.pi, math.pi), st.floats(-math.pi / 2, math.pi / 2))
def test_every_direction_has_an_answer(
    speaker: tuple[Diaphragm, Front], azimuth: float, elevation: float
) -> None:
    exact = np.vstack([np.eye(3), -np.eye(3), [[0.0, math.sqrt(0.5), math.sqrt(0.5)], [-0.0, 1.0, 0.0]]])
    grazing = np.array([[1e-17, 1.0, 0.0], [-1e-17, 1.0, 0.0], [1e-12, 0.0, -1.0]])
    some = Directions.from_angles(np.array([azimuth]), np.array([elevation]))
    every = Directions.joined(some, Directions(exact), Directions(grazing))
    found = gain(*speaker, every, COARSE_HZ)
    assert np.all(np.isfinite(found))
    assert np.max(np.abs(found)) < 6.0  # twice the source, and edges that can at most add as much again


@settings(max_examples=25)
@given(speakers())
def test_mirrored_cabinets_have_mirrored_orbits(speaker: tuple[Diaphragm, Front]) -> None:
    diaphragm, front = speaker
    y, z = diaphragm.centre_m
    other = Diaphragm((-y, z), diaphragm.radius_m, diaphragm.area_m2, diaphragm.dome_height_m)
    mirror = np.array([1.0, -1.0, 1.0])
    there = gain(other, front, Directions(ORBITS.unit * mirror), COARSE_HZ)
    np.testing.assert_allclose(there, gain(diaphragm, front, ORBITS, COARSE_HZ), atol=1e-6)


@settings(max_examples=25)
@given(speakers(), st.tuples(st.floats(-0.3, 0.3), st.floats(-0.3, 0.3)))
def test_another_origin_only_turns_the_phase(
    speaker: tuple[Diaphragm, Front], shift_m: tuple[float, float]
) -> None:
    diaphragm, front = speaker
    moved = Diaphragm(
        (diaphragm.centre_m[0] + shift_m[0], diaphragm.centre_m[1] + shift_m[1]),
        diaphragm.radius_m,
        diaphragm.area_m2,
        diaphragm.dome_height_m,
    )
    there = gain(moved, Front(front.outline_m + np.array(shift_m), front.depth_m), ORBITS, COARSE_HZ)
    path_m = ORBITS.unit[:, 1:] @ np.array(shift_m)
    turn = np.exp(2j * np.pi * np.outer(path_m, COARSE_HZ) / AIR.sound_speed_m_s)
    np.testing.assert_allclose(there, gain(diaphragm, front, ORBITS, COARSE_HZ) * turn, atol=1e-6)


@given(speakers(), st.floats(0.5, 2.0))
def test_a_larger_model_sounds_the_same_lower_down(speaker: tuple[Diaphragm, Front], scale: float) -> None:
    diaphragm, front = speaker
    centre = (diaphragm.centre_m[0] * scale, diaphragm.centre_m[1] * scale)
    larger = Diaphragm(
        centre, diaphragm.radius_m * scale, diaphragm.area_m2 * scale**2, diaphragm.dome_height_m * scale
    )
    grown = Front(front.outline_m * scale, front.depth_m * scale)
    lower_hz = np.geomspace(100.0, 5_000.0, 20)
    there = gain(larger, grown, ORBITS, lower_hz / scale)
    np.testing.assert_allclose(there, gain(diaphragm, front, ORBITS, lower_hz), atol=0.02)


@settings(max_examples=20)
@given(speakers(), st.floats(0.0, 2 * math.pi))
def test_a_cabinet_turned_about_its_axis_turns_its_sound(
    speaker: tuple[Diaphragm, Front], angle: float
) -> None:
    diaphragm, front = speaker
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    y, z = turn @ np.array(diaphragm.centre_m)
    turned = Diaphragm((float(y), float(z)), diaphragm.radius_m, diaphragm.area_m2, diaphragm.dome_height_m)
    unit = ORBITS.unit[::5]
    ways = Directions(np.concatenate([unit[:, :1], unit[:, 1:] @ turn.T], axis=1))
    there = gain(turned, Front(front.outline_m @ turn.T, front.depth_m), ways, COARSE_HZ)
    np.testing.assert_allclose(there, gain(diaphragm, front, Directions(unit), COARSE_HZ), atol=2e-3)


def test_a_corner_on_a_straight_edge_changes_nothing() -> None:
    plain = Front.rectangle(0.3, 0.2, 0.25)
    middle = (plain.outline_m[0] + plain.outline_m[1]) / 2
    split = Front(np.insert(plain.outline_m, 1, middle, axis=0), 0.25)
    speaker = Diaphragm((0.05, 0.02), 0.03, 0.0028)
    there = gain(speaker, split, ORBITS, COARSE_HZ)
    np.testing.assert_allclose(there, gain(speaker, plain, ORBITS, COARSE_HZ), atol=0.01)


def test_on_an_asymmetric_front_the_driver_on_the_listeners_right_is_nearer_to_a_seat_there() -> None:
    front = Front.rectangle(0.4, 0.2, 0.25, centre_m=(0.03, 0.0))
    seat = Directions.from_angles(np.radians([30.0]), np.zeros(1))
    frequency = np.array([99.0, 101.0])
    arrival = {}
    for across in (0.1, -0.1):
        phase = np.angle(gain(Diaphragm((across, 0.0), 0.02, 1e-3), front, seat, frequency)[0])
        arrival[across] = -(phase[1] - phase[0]) / (2 * np.pi * 2.0)
    earlier_s = arrival[-0.1] - arrival[0.1]
    assert earlier_s == pytest.approx(0.2 * math.sin(math.radians(30)) / AIR.sound_speed_m_s, rel=0.35)


@pytest.mark.parametrize("name", TYPICAL)
def test_power_lies_between_half_of_that_in_a_baffle_and_all_of_it(name: str) -> None:
    """Low: half space to full space, -3.01 dB. High: all that the baffle would send is sent."""
    front, speaker = TYPICAL[name]
    frequency = np.concatenate([[10.0], FrequencyGrid.standard().frequency_hz[::4], [20_000.0]])
    directions, weight = sphere_directions(5.0)
    power = weight @ np.abs(gain(speaker, front, directions, frequency)) ** 2
    node, share = np.polynomial.legendre.leggauss(60)
    angle = np.arccos((node + 1) / 2)[:, None]
    if speaker.dome_height_m:
        baffle = dome_directivity(frequency, angle, speaker.radius_m, speaker.dome_height_m)
    else:
        baffle = piston_directivity(frequency, angle, speaker.radius_m).astype(np.complex128)
    level = 10 * np.log10(power / (share / 4 @ (4 * np.abs(baffle) ** 2)))
    assert level[0] == pytest.approx(-3.01, abs=0.02)
    assert np.min(level) > -3.01 - 0.05
    assert np.max(level) < 0.05
    assert np.mean(level[frequency > 4000.0]) == pytest.approx(0.0, abs=0.3)


def test_baffle_step_is_six_decibels_in_all() -> None:
    front, speaker = Front.rectangle(0.2, 0.35, 0.25), Diaphragm((0.02, 0.05), 0.0, 1e-3)
    level = db(gain(speaker, front, AHEAD, np.append(10.0, np.geomspace(3000.0, 20_000.0, 400))))[0]
    assert level[0] == pytest.approx(0.0, abs=0.02)
    assert np.mean(level[1:]) == pytest.approx(6.02, abs=0.3)


@settings(max_examples=20)
@given(speakers())
def test_edges_sampled_for_ten_kilohertz_serve_an_octave_more(speaker: tuple[Diaphragm, Front]) -> None:
    exact, rough = (
        prepare(*speaker, COARSE_HZ, AIR, edges_to_hz=limit_hz).pressure(ORBITS)
        for limit_hz in (np.inf, 10_000.0)
    )
    loud = np.abs(exact) > np.abs(exact).max(axis=0) * 10 ** (-20 / 20)
    apart_db = np.where(loud, db(rough) - db(exact), 0.0)
    assert np.sqrt(np.mean(apart_db**2)) < 0.05
    assert np.abs(apart_db[:, COARSE_HZ < 10_000]).max() < 0.15
    assert np.any(rough != exact)


def largest_step_of_the_fade(front: Front, speaker: Diaphragm) -> float:
    """Largest step between neighbours at 80-130 degrees, less the larger of the steps that the front model and the
    ball make there by themselves; within 20 dB of the level on axis. [dB]
    """
    frequency = FrequencyGrid.standard().frequency_hz
    ready = prepare(speaker, front, frequency, AIR)
    ahead = db(ready.pressure(AHEAD))
    largest = 0.0
    for orbit in (Directions.horizontal_orbit(), Directions.vertical_orbit()):
        level = db(ready.pressure(orbit))
        model = np.full(level.shape, np.nan)
        seen = orbit.unit[:, 0] >= 0
        model[seen] = db(ready.front_factor(orbit.unit[seen]))
        ball = db(ready.ball.factor(orbit.unit[:, 0]))
        own = np.fmax(np.abs(np.diff(model, axis=0)), np.abs(np.diff(ball, axis=0)))
        angle = np.abs(ORBIT_ANGLES_DEG[1:] + ORBIT_ANGLES_DEG[:-1]) / 2
        counts = ((angle > 80) & (angle < 130))[:, None] & (np.minimum(level[1:], level[:-1]) > ahead - 20)
        largest = max(largest, float(np.max((np.abs(np.diff(level, axis=0)) - own)[counts])))
    return largest


@pytest.mark.parametrize("name", TYPICAL)
def test_the_fade_to_the_ball_makes_no_steps(name: str) -> None:
    assert largest_step_of_the_fade(*TYPICAL[name]) < 1.0


@pytest.mark.parametrize("name", AT_THE_EDGE)
def test_the_fade_makes_no_more_for_a_driver_that_touches_the_edge(name: str) -> None:
    """Little more: 1.2 dB, where the level is 17 dB or more below that on axis."""
    assert largest_step_of_the_fade(*AT_THE_EDGE[name]) < 1.2


def test_a_baffle_without_edges_is_exact_up_to_grazing() -> None:
    speaker = Diaphragm((0.0, 0.0), 0.05, 0.00785)
    angle = np.radians([0.0, 40.0, 80.0, 90.0])
    directions = Directions.from_angles(angle, np.zeros(1))
    pressure = instant_pressure(
        speaker, Front.rectangle(1.0, 1.0, 1.0), directions, COARSE_HZ, AIR, edges=False
    )
    exact = 2 * piston_directivity(COARSE_HZ, angle[:, None], 0.05)
    np.testing.assert_allclose(pressure / free_source(speaker, COARSE_HZ), 1j * exact, atol=1e-9)


def test_a_set_back_delays_the_sound_ahead_and_not_at_the_side() -> None:
    front = Front.rectangle(0.2, 0.3, 0.25)
    flush, deep = (Diaphragm((0.0, 0.0), 0.0, 1e-3, set_back_m=back) for back in (0.0, 0.02))
    directions = Directions.from_angles(np.radians([0.0, 90.0]), np.zeros(1))
    hz = np.array([5000.0])
    one, other = (instant_pressure(d, front, directions, hz, AIR, edges=False)[:, 0] for d in (flush, deep))
    turn = np.exp(-2j * np.pi * 5000.0 * 0.02 / AIR.sound_speed_m_s)
    np.testing.assert_allclose(other / one, [turn, 1.0], rtol=1e-9)


@given(st.floats(0.0, math.pi / 2), st.floats(100.0, 20_000.0))
def test_a_shallow_dome_is_a_piston(angle: float, frequency: float) -> None:
    dome = complex(dome_directivity(frequency, angle, 0.0125, 1e-7))
    assert dome == pytest.approx(complex(piston_directivity(frequency, angle, 0.0125)), abs=1e-4)


def test_angles_behind_the_baffle_are_refused() -> None:
    with pytest.raises(OutsideValidity, match="behind"):
        piston_directivity(1000.0, 2.0, 0.1)


def test_corners_in_the_wrong_order_are_refused() -> None:
    clockwise = np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 1.0], [1.0, 0.0]])
    with pytest.raises(OutsideValidity, match="counter-clockwise"):
        Front(clockwise, 0.2)


def test_a_dome_higher_than_half_a_ball_is_refused() -> None:
    with pytest.raises(OutsideValidity, match="half a ball"):
        Diaphragm((0.0, 0.0), 0.01, 1e-3, dome_height_m=0.02)


def test_the_ball_holds_what_the_cabinet_holds() -> None:
    ball = equal_volume_sphere_radius_m(Front.rectangle(0.2, 0.3, 0.25))
    assert 4 / 3 * math.pi * ball**3 == pytest.approx(0.2 * 0.3 * 0.25)
