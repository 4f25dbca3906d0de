"""Why a seat has a hole in the direct sound: what each cause is worth, on speakers of ideal voltages."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from acoustic_voltages import ideal_ways
from forehear.ground.flowing import DriveVoltage
from forehear.judge import ear_smoothing
from forehear.radiation import Front
from forehear.spine.causes import CAUSES, CROSSING, EDGES, SIZE, SPACING, Shares, share_causes
from forehear.spine.seats import direct_pressure, on_axis_m
from forehear.spine.speaker import Speaker
from rooms.ideal_speakers import GRID, HZ, IdealWay, disc, ideal_speaker

EAR = ear_smoothing(GRID)
NARROW = Front.rectangle(0.349, 0.127, 0.2)
FAR_M = 100.0
Driven = tuple[Speaker, DriveVoltage]


def toward(azimuth_deg: float, distance_m: float = FAR_M) -> NDArray[np.float64]:
    angle = np.radians(azimuth_deg)
    return distance_m * np.array([np.cos(angle), np.sin(angle), 0.0])


def pair_about_a_dome(corner_hz: float) -> Driven:
    """Two 74 mm cones 222 mm apart beside a dome, crossed at 24 dB an octave."""
    low, high = ideal_ways("LR4", HZ / corner_hz)
    cones = {"left": disc(-0.111, 0.0, 0.074), "right": disc(0.111, 0.0, 0.074)}
    ways = {"low": IdealWay(cones, low), "high": IdealWay({"dome": disc(0.0, 0.0, 0.025)}, high)}
    return ideal_speaker(ways, NARROW)


def midrange_between_woofers(low_hz: float) -> Driven:
    low, rest = ideal_ways("LR4", HZ / low_hz)
    middle, top = ideal_ways("LR4", HZ / 2700.0)
    ways = {
        "low": IdealWay({"left": disc(-0.2, 0.0, 0.108), "right": disc(0.2, 0.0, 0.108)}, low),
        "middle": IdealWay({"midrange": disc(0.0, -0.045, 0.074)}, rest * middle),
        "high": IdealWay({"dome": disc(0.0, 0.03, 0.025)}, rest * top),
    }
    return ideal_speaker(ways, Front.rectangle(0.56, 0.2, 0.25))


def below_axis_db(driven: Driven, ear_m: NDArray[np.float64]) -> NDArray[np.float64]:
    """The whole speaker, summed by hand: ear-smoothed level on axis less that toward the ear."""
    speaker, voltage = driven
    points = np.concatenate([on_axis_m(np.array([np.linalg.norm(ear_m)])), ear_m[np.newaxis]])
    moved = np.einsum("sif,if->sf", speaker.motion.velocity_m_s_v, voltage.volts_v)
    total = (direct_pressure(speaker, points) * moved[:, np.newaxis]).sum(axis=0)
    ahead, aside = EAR.smooth(np.abs(total) ** 2)
    return np.asarray(10 * np.log10(ahead / aside))


def deepest(driven: Driven, azimuth_deg: float, from_hz: float, to_hz: float) -> tuple[float, Shares]:
    """Depth of the deepest point of a range, and its shares."""
    below = below_axis_db(driven, toward(azimuth_deg))
    at = int(np.argmax(np.where((from_hz < HZ) & (to_hz > HZ), below, -np.inf)))
    ((shares,),) = share_causes(*driven, toward(azimuth_deg)[np.newaxis], [[float(HZ[at])]], EAR)
    return float(below[at]), shares


def named(shares: Shares) -> dict[str, float]:
    return {share.cause: share.share_db for share in shares.shares}


def test_a_pair_about_a_dome_is_taken_apart_as_it_was_before() -> None:
    # A trial of ours on the same sizes, before this code: good to about 1 dB.
    depth, shares = deepest(pair_about_a_dome(2550.0), 20.0, 1275.0, 5100.0)
    assert depth == pytest.approx(9.2, abs=1.0)
    assert named(shares) == pytest.approx({SPACING: 5.5, SIZE: -0.2, CROSSING: 2.6, EDGES: 1.2}, abs=1.0)


def test_without_edges_spacing_explains_the_pair() -> None:
    speaker, voltage = pair_about_a_dome(2550.0)
    bare = speaker.with_shape(speaker.diaphragms, edges=False)
    depth, shares = deepest((bare, voltage), 20.0, 1275.0, 5100.0)
    assert depth == pytest.approx(8.4, abs=1.0)  # common practice, no source
    found = named(shares)
    assert found[EDGES] == 0.0
    assert found[SPACING] > 0.85 * depth
    assert abs(found[SIZE]) < 0.5


@pytest.mark.parametrize("low_hz", [400.0, 450.0, 500.0])
def test_a_midrange_between_woofers_has_no_part_in_their_dip(low_hz: float) -> None:
    depth, shares = deepest(midrange_between_woofers(low_hz), 60.0, 200.0, 5000.0)
    assert 6.0 < depth < 9.0  # common practice, no source
    found = named(shares)
    assert found[SPACING] + found[CROSSING] + found[EDGES] == pytest.approx(depth, abs=0.5)
    assert min(found[SPACING], found[EDGES]) > 1.0
    assert abs(found[SIZE]) < 0.3


@given(azimuth_deg=st.floats(-80.0, 80.0), distance_m=st.floats(1.0, 20.0), hz=st.floats(200.0, 10e3))
@settings(max_examples=12)
def test_shares_add_up_to_the_depth(azimuth_deg: float, distance_m: float, hz: float) -> None:
    driven, ear_m = pair_about_a_dome(2550.0), toward(azimuth_deg, distance_m)
    ((found,),) = share_causes(*driven, ear_m[np.newaxis], [[hz]], EAR)
    depth = below_axis_db(driven, ear_m)[np.argmin(np.abs(np.log(HZ / hz)))]
    total = sum(share.share_db for share in found.shares) + found.rest_db
    assert total == pytest.approx(np.clip(depth, -20.0, 20.0), abs=1e-6)
    assert {share.cause for share in found.shares} == set(CAUSES)
    ordered = [share.share_db for share in found.shares]
    assert ordered == sorted(ordered, reverse=True)


def test_a_single_point_in_the_middle_has_no_cause_but_edges() -> None:
    volts = np.ones_like(HZ, dtype=complex)
    driven = ideal_speaker({"all": IdealWay({"point": disc(0.0, 0.0, 1e-4)}, volts)}, NARROW)
    ((found,),) = share_causes(*driven, toward(45.0)[np.newaxis], [[1500.0]], EAR)
    shares = named(found)
    assert abs(shares[EDGES]) > 0.1
    for cause in (SPACING, SIZE, CROSSING):
        assert shares[cause] == pytest.approx(0.0, abs=1e-3)


def test_a_large_diaphragm_alone_is_its_size() -> None:
    volts = np.ones_like(HZ, dtype=complex)
    driven = ideal_speaker({"all": IdealWay({"cone": disc(0.0, 0.0, 0.12)}, volts)}, NARROW)
    speaker = driven[0].with_shape(driven[0].diaphragms, edges=False)
    ((found,),) = share_causes(speaker, driven[1], toward(45.0)[np.newaxis], [[3000.0]], EAR)
    assert named(found)[SIZE] > 5.0
    assert named(found)[SPACING] == pytest.approx(0.0, abs=1e-6)
    assert found.rest_db == pytest.approx(0.0, abs=1e-6)
