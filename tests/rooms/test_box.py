"""Laws the box keeps: reciprocity, energy, mass and flow, limits at both ends; and what it refuses."""

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.box import (
    BlockedImpedance,
    Closed,
    DriverConstants,
    Enclosure,
    Vented,
    enclosure_response,
    excursion_m_v,
    port_length_m,
    small_source_pressure_pa,
)
from forehear.ground.air import Air
from forehear.ground.axes import FrequencyGrid
from forehear.ground.errors import OutsideValidity
from forehear.ground.flowing import DriverImpedance, SourceMotion
from forehear.ground.levels import REFERENCE_VOLTAGE_V, pressure_level_db
from forehear.ground.thiele_small import (
    MechanicalConstants,
    Resonance,
    mechanical_from_small_signal,
    small_signal_from_mechanical,
)

GRID = FrequencyGrid(np.geomspace(5.0, 20e3, 61))
AIR = Air(24.0, 98_000.0)
OMEGA = 2 * np.pi * GRID.frequency_hz


def a_driver(mechanical: MechanicalConstants, grid: FrequencyGrid = GRID) -> DriverConstants:
    coil = BlockedImpedance.leach(mechanical.re_ohm, 0.01, 0.7, grid)
    return DriverConstants.from_mechanical(mechanical, coil)


mechanicals = st.builds(
    MechanicalConstants,
    re_ohm=st.floats(2.5, 15.0),
    bl_n_a=st.floats(2.0, 20.0),
    mms_kg=st.floats(2e-4, 0.1),
    cms_m_n=st.floats(5e-5, 3e-3),
    rms_kg_s=st.floats(0.1, 8.0),
    sd_m2=st.floats(5e-4, 0.05),
)
constants = st.lists(mechanicals.map(a_driver), min_size=1, max_size=3)
closed = st.builds(Closed, st.floats(5e-4, 0.2), st.one_of(st.just(math.inf), st.floats(3.0, 100.0)))
vented = st.builds(
    Vented, st.floats(3e-3, 0.2), st.floats(20.0, 90.0), st.floats(5e-4, 0.02), st.floats(3.0, 50.0)
)
enclosures = st.one_of(st.none(), closed, vented)


def respond(
    drivers: Sequence[DriverConstants], box: Enclosure | None
) -> tuple[SourceMotion, DriverImpedance]:
    names = [f"driver {number}" for number in range(len(drivers))]
    return enclosure_response(drivers, names, box, GRID, AIR, way="low")


@given(constants, enclosures)
def test_the_impedance_matrix_is_reciprocal(drivers: list[DriverConstants], box: Enclosure | None) -> None:
    _, found = respond(drivers, box)
    size = np.abs(found.impedance_ohm).max(axis=(0, 1))
    np.testing.assert_allclose(
        found.impedance_ohm / size, found.impedance_ohm.transpose(1, 0, 2) / size, atol=1e-9
    )


@given(constants, enclosures)
def test_no_current_pattern_draws_power_from_the_drivers(
    drivers: list[DriverConstants], box: Enclosure | None
) -> None:
    _, found = respond(drivers, box)
    matrix = np.moveaxis(found.impedance_ohm, -1, 0)
    least = np.linalg.eigvalsh((matrix + matrix.conj().transpose(0, 2, 1)) / 2)[:, 0]
    assert np.all(
        least >= min(driver.re_ohm for driver in drivers) * (1 - 1e-6)
    )  # Re is always there to heat


@given(constants, enclosures, st.integers(0, 2**32 - 1))
def test_electric_power_is_all_accounted_for(
    drivers: list[DriverConstants], box: Enclosure | None, seed: int
) -> None:
    """Volts in, then currents, velocities and box pressure: coil, suspension, leak and lining take it all."""
    motion, impedance = respond(drivers, box)
    random = np.random.default_rng(seed)
    volts = random.normal(size=(len(drivers), len(GRID))) + 1j * random.normal(size=(len(drivers), len(GRID)))
    amperes = np.linalg.solve(np.moveaxis(impedance.impedance_ohm, -1, 0), volts.T[:, :, None])[:, :, 0].T
    velocity = np.einsum("sdf,df->sf", motion.velocity_m_s_v, volts)
    cones = velocity[: len(drivers)]
    coils_w = sum(
        np.abs(i) ** 2 * d.blocked.impedance_ohm.real for i, d in zip(amperes, drivers, strict=True)
    )
    suspensions_w = sum(np.abs(u) ** 2 * d.rms_kg_s for u, d in zip(cones, drivers, strict=True))
    flow = np.einsum("d,df->f", np.array([d.sd_m2 for d in drivers]), cones)
    taken_w = coils_w + suspensions_w + air_loss_w(box, flow)
    given_w = np.einsum("df,df->f", amperes.conj(), volts).real
    scale_w = np.einsum("df,df->f", np.abs(amperes), np.abs(volts))
    np.testing.assert_allclose(given_w / scale_w, taken_w / scale_w, atol=1e-8)


def air_loss_w(box: Enclosure | None, flow: np.ndarray) -> np.ndarray:
    """What leak and lining turn into heat when the diaphragms move a volume velocity, written out by hand."""
    if box is None:
        return np.zeros(OMEGA.size)
    reactance = AIR.density_kg_m3 * AIR.sound_speed_m_s**2 / (OMEGA * box.volume_m3)
    if isinstance(box, Closed):
        return np.abs(flow) ** 2 * reactance / box.lining_q
    tuned = 2 * np.pi * box.tuned_hz
    at_tuning = AIR.density_kg_m3 * AIR.sound_speed_m_s**2 / (tuned * box.volume_m3)  # of spring and of port
    leak = box.ql * at_tuning
    pressure = np.abs(flow) / np.abs(1j / reactance - 1j / (at_tuning * OMEGA / tuned) + 1 / leak)
    return pressure**2 / leak


@given(mechanicals, vented)
def test_port_against_cone_below_and_with_it_above(mechanical: MechanicalConstants, box: Vented) -> None:
    grid = FrequencyGrid(np.array([box.tuned_hz / 200, box.tuned_hz * 50]))
    motion, _ = enclosure_response([a_driver(mechanical, grid)], ["woofer"], box, grid, AIR, way="low")
    assert motion.sources == ("woofer", "port of low")
    cone, port = motion.velocity_m_s_v[:, 0] * np.array([[mechanical.sd_m2], [box.port_area_m2]])
    np.testing.assert_allclose(port[0] / cone[0], -1.0, atol=2e-4)  # the air only passes through
    leak = 50j / box.ql  # spring, port and leak share the flow as their admittances say, by hand
    wanted = (1 + leak) / (50**2 - 1 - leak)
    assert wanted.real > 0
    assert port[1] / cone[1] == pytest.approx(wanted, rel=1e-9)


@given(mechanicals, vented)
def test_a_box_with_a_port_blocked_is_closed(mechanical: MechanicalConstants, box: Vented) -> None:
    driver = a_driver(mechanical)
    blocked = Vented(box.volume_m3, 1e-4, box.port_area_m2, ql=math.inf)  # so heavy an air plug stands still
    motion, impedance = respond([driver], blocked)
    wanted_motion, wanted_impedance = respond([driver], Closed(box.volume_m3))
    np.testing.assert_allclose(motion.velocity_m_s_v[:1], wanted_motion.velocity_m_s_v, rtol=1e-6)
    np.testing.assert_allclose(impedance.impedance_ohm, wanted_impedance.impedance_ohm, rtol=1e-6)


@given(mechanicals, st.floats(5e-4, 0.2))
def test_a_closed_box_is_a_stiffer_suspension(mechanical: MechanicalConstants, volume_m3: float) -> None:
    spring = mechanical.sd_m2**2 * AIR.density_kg_m3 * AIR.sound_speed_m_s**2 / volume_m3
    stiff = MechanicalConstants(**{**vars(mechanical), "cms_m_n": 1 / (1 / mechanical.cms_m_n + spring)})
    motion, impedance = respond([a_driver(mechanical)], Closed(volume_m3))
    wanted_motion, wanted_impedance = respond([a_driver(stiff)], None)
    np.testing.assert_allclose(motion.velocity_m_s_v, wanted_motion.velocity_m_s_v, rtol=1e-8)
    np.testing.assert_allclose(impedance.impedance_ohm, wanted_impedance.impedance_ohm, rtol=1e-8)


@given(mechanicals, enclosures, st.integers(2, 4))
def test_equal_drivers_together_are_one_in_its_share_of_the_box(
    mechanical: MechanicalConstants, box: Enclosure | None, count: int
) -> None:
    drivers = [a_driver(mechanical)] * count
    motion, _ = respond(drivers, box)
    together = motion.velocity_m_s_v.sum(axis=1)[:count]
    alone, _ = respond(drivers[:1], share_of(box, count))
    np.testing.assert_allclose(together, np.broadcast_to(alone.velocity_m_s_v[0], together.shape), rtol=1e-7)


def share_of(box: Enclosure | None, count: int) -> Enclosure | None:
    match box:
        case Closed():
            return Closed(box.volume_m3 / count, box.lining_q)
        case Vented():
            return Vented(box.volume_m3 / count, box.tuned_hz, box.port_area_m2 / count, box.ql)
        case None:
            return None


@given(mechanicals, closed)
def test_a_driver_pumps_its_shorted_neighbour_backwards_at_low_frequency(
    mechanical: MechanicalConstants, box: Closed
) -> None:
    motion, _ = respond([a_driver(mechanical)] * 2, box)
    own, other = motion.velocity_m_s_v[0, 0, 0], motion.velocity_m_s_v[1, 0, 0]
    assert (own.conj() * other).real < 0


def test_drivers_sealed_by_themselves_do_not_meet() -> None:
    driver = a_driver(MechanicalConstants(6.2, 6.5, 0.0145, 1.05e-3, 0.95, 0.0133))
    motion, impedance = respond([driver, driver], None)
    assert not motion.velocity_m_s_v[0, 1].any()
    assert not impedance.impedance_ohm[1, 0].any()


def test_level_in_the_flat_range_is_the_sensitivity_of_the_data() -> None:
    """Two ways to one number: the solved motion in half space, and the efficiency of Thiele and Small."""
    mechanical = mechanical_from_small_signal(Resonance(30.0, 4.0, 0.05), 0.05, 6.0, 0.0133, AIR)
    grid = FrequencyGrid(np.array([3e5, 6e5]))  # far above, and no inductance: mass alone is left
    one = DriverConstants.from_mechanical(mechanical, BlockedImpedance.plain(6.0, 0.0, grid))
    motion, _ = enclosure_response([one], ["woofer"], None, grid, AIR)
    flow = mechanical.sd_m2 * motion.velocity_m_s_v[0, 0]
    level = pressure_level_db(
        small_source_pressure_pa(flow, grid.frequency_hz, 1.0, AIR), REFERENCE_VOLTAGE_V
    )
    wanted = small_signal_from_mechanical(mechanical, AIR).sensitivity_2v83_db
    np.testing.assert_allclose(level, wanted, atol=1e-3)


@given(mechanicals, closed)
def test_excursion_at_low_frequency_is_force_over_stiffness(
    mechanical: MechanicalConstants, box: Closed
) -> None:
    grid = FrequencyGrid(np.array([1e-3, 1.0]))
    driver = a_driver(mechanical, grid)
    motion, _ = enclosure_response([driver], ["woofer"], Closed(box.volume_m3), grid, AIR)
    force = mechanical.bl_n_a / driver.blocked.impedance_ohm[0]
    spring = mechanical.sd_m2**2 * AIR.density_kg_m3 * AIR.sound_speed_m_s**2 / box.volume_m3
    wanted = force / (1 / mechanical.cms_m_n + spring)
    assert excursion_m_v(motion)[0, 0, 0] == pytest.approx(wanted, rel=0.03)


@given(st.floats(2.0, 10.0), st.floats(0.0, 0.05), st.floats(0.0, 1.0))
def test_a_voice_coil_held_still_is_passive(re_ohm: float, k: float, n: float) -> None:
    for coil in (
        BlockedImpedance.leach(re_ohm, k, n, GRID),
        BlockedImpedance.plain(re_ohm, k, GRID),
        BlockedImpedance.two_inductances(re_ohm, 1e-4, 5e-4 + k, 1.0 + n, GRID),
    ):
        assert np.all(coil.impedance_ohm.real >= re_ohm * (1 - 1e-12))
        assert np.all(coil.impedance_ohm.imag >= 0)


GOOD = MechanicalConstants(6.2, 6.5, 0.0145, 1.05e-3, 0.95, 0.0133)
OTHER_GRID = FrequencyGrid(np.array([100.0, 200.0]))


@pytest.mark.parametrize(
    "make",
    [
        lambda: Closed(0.0),
        lambda: Closed(math.inf),
        lambda: Closed(0.01, lining_q=-3.0),
        lambda: Vented(0.01, -40.0, 0.001),
        lambda: Vented(0.01, 40.0, math.nan),
        lambda: Vented(0.01, 40.0, 0.001, ql=0.0),
        lambda: BlockedImpedance.leach(6.0, 0.01, 1.2, GRID),
        lambda: BlockedImpedance.plain(0.0, 1e-3, GRID),
        lambda: a_driver(MechanicalConstants(**{**vars(GOOD), "rms_kg_s": 0.0})),
        lambda: respond([], None),
        lambda: port_length_m(Vented(0.001, 400.0, 0.001), AIR),
        lambda: small_signal_from_mechanical(MechanicalConstants(**{**vars(GOOD), "mms_kg": -1.0}), AIR),
        lambda: mechanical_from_small_signal(Resonance(40.0, 4.0, math.nan), 0.03, 6.0, 0.0133, AIR),
    ],
)
def test_what_cannot_be_is_refused(make: Callable[[], object]) -> None:
    with pytest.raises(OutsideValidity):
        make()


def test_drivers_on_another_grid_are_refused() -> None:
    with pytest.raises(ValueError, match="two frequency grids differ"):
        enclosure_response([a_driver(GOOD, OTHER_GRID)], ["woofer"], None, GRID, AIR)
