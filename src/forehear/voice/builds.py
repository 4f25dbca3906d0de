"""Thousands of speakers built of ordinary parts and drivers: what each of them plays, all at once."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from forehear.box import DriverConstants, Enclosure, Vented, air_admittance, port_admittance
from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.network import Wiring

# Half widths of what drivers are off by; common practice, no source. One draw a driver holds all four.
DRIVER_OFF = {"mms_kg": 0.05, "cms_m_n": 0.15, "bl_n_a": 0.04, "re_ohm": 0.05}
TOGETHER = 0.5  # correlation of the four: a heavier cone has more glue, a larger coil more wire (estimated)


@dataclass(frozen=True, eq=False)
class WayModel:
    """The drivers of one way and the air they share, as constants that can be off."""

    drivers: tuple[DriverConstants, ...]
    enclosure: Enclosure | None
    wiring: Wiring
    grid: FrequencyGrid
    air: Air

    def off(self, shares: FloatArray) -> tuple[ComplexArray, ComplexArray]:
        r"""Load and velocities of the way for many builds.

        With Y the admittance of the air, U the sum of S u, and all drivers of a way side by side:

        .. math::
            m_i u_i = (Bl)_i / Z_{b,i} - S_i U / Y, \quad m_i = Z_{m,i} + (Bl)_i^2 / Z_{b,i}

        and one after the other the same with the mechanical impedance alone and 1 A instead of 1 V.

        Parameters
        ----------
        shares
            By what each constant is off, in the order of `DRIVER_OFF`, [build, driver, constant]. [-]

        Returns
        -------
        load, velocity
            [build, frequency] [ohm]; [build, driver, frequency] per volt at the load. [m/(s V)]

        Source
        ------
        small-1973-vented, sec. 2: as `forehear.box.enclosure_response`, solved by hand for one voltage or current.
        """
        jw = self._jw
        mass, spring, bl, re = (
            self._nominal(name) * (1 + shares[..., place]) for place, name in enumerate(DRIVER_OFF)
        )
        blocked = np.stack([one.blocked.impedance_ohm for one in self.drivers])
        blocked = blocked + (re - self._nominal("re_ohm"))[..., np.newaxis]
        bl = bl[..., np.newaxis]
        mechanical = (
            jw * mass[..., np.newaxis]
            + self._nominal("rms_kg_s")[:, np.newaxis]
            + 1 / (jw * spring[..., np.newaxis])
        )
        if self.wiring is Wiring.PARALLEL:
            velocity = self._shared(bl / blocked, mechanical + bl**2 / blocked)
            return 1 / ((1 - bl * velocity) / blocked).sum(axis=1), velocity
        velocity = self._shared(bl.astype(np.complex128), mechanical)
        load = (blocked + bl * velocity).sum(axis=1)
        return load, velocity / load[:, np.newaxis]

    @property
    def _jw(self) -> ComplexArray:
        return np.asarray(2j * np.pi * self.grid.frequency_hz, dtype=np.complex128)

    def _nominal(self, name: str) -> FloatArray:
        return np.array([getattr(driver, name) for driver in self.drivers])

    def _shared(self, force: ComplexArray, moved: ComplexArray) -> ComplexArray:
        """Velocities for forces against impedances, [build, driver, frequency], with the air all of them share."""
        alone = force / moved
        if self.enclosure is None:
            return alone
        jw = self._jw
        air = air_admittance(self.enclosure, jw, self.air)
        if isinstance(self.enclosure, Vented):
            air = air + port_admittance(self.enclosure, jw, self.air)
        area = self._nominal("sd_m2")[:, np.newaxis]
        flow = (area * alone).sum(axis=1) / (1 + (area**2 / moved).sum(axis=1) / air)
        slowed: ComplexArray = area * (flow / air)[:, np.newaxis] / moved
        return alone - slowed

    def as_nominal_drive(self, velocity: ComplexArray) -> ComplexArray:
        """Volts that would move the nominal drivers so, [build, driver, frequency] as `velocity` is."""
        nominal = self._nominal_motion().transpose(2, 0, 1)  # [frequency, driver, driver]
        found = np.linalg.solve(nominal, velocity.transpose(2, 1, 0))
        return np.asarray(found.transpose(2, 1, 0), dtype=np.complex128)

    def _nominal_motion(self) -> ComplexArray:
        """Velocity of each nominal driver per volt at each, the others shorted, [driver, driver, frequency]."""
        count = len(self.drivers)
        jw = self._jw
        blocked = np.stack([one.blocked.impedance_ohm for one in self.drivers])
        bl = self._nominal("bl_n_a")[:, np.newaxis]
        moved = jw * self._nominal("mms_kg")[:, np.newaxis] + self._nominal("rms_kg_s")[:, np.newaxis]
        moved = moved + 1 / (jw * self._nominal("cms_m_n")[:, np.newaxis]) + bl**2 / blocked
        each: ComplexArray = np.eye(count)[:, :, np.newaxis] * (
            bl / blocked
        )  # [driver with the volt, driver, frequency]
        found: ComplexArray = self._shared(each, np.broadcast_to(moved, each.shape)).transpose(1, 0, 2)
        return found


def drawn_shares(random: np.random.Generator, builds: int, drivers: int) -> FloatArray:
    """Draw by how much drivers are off, in units of their half widths, [build, driver, constant].

    Normal with a third of the half width as its standard deviation, cut off at the half width; the four constants of a
    driver are correlated.
    """
    own = random.standard_normal((builds, drivers, len(DRIVER_OFF)))
    common = random.standard_normal((builds, drivers, 1))
    joined = np.sqrt(TOGETHER) * common + np.sqrt(1 - TOGETHER) * own
    found: FloatArray = np.clip(joined / 3, -1, 1)
    return found


def half_widths() -> FloatArray:
    """Half widths of the constants, in the order of `DRIVER_OFF`."""
    return np.array(list(DRIVER_OFF.values()))


def same_draw(shares: FloatArray, groups: Sequence[int]) -> FloatArray:
    """Give drivers of one group the draw of its first, [build, driver, constant]."""
    first = [groups.index(group) for group in groups]
    return shares[:, first]
