"""A driver as the box sees it: its mechanics, its motor, and the voice coil held still."""

from dataclasses import dataclass
from typing import Self

import numpy as np

from forehear.ground.arrays import ComplexArray, locked
from forehear.ground.axes import FrequencyGrid
from forehear.ground.errors import OutsideValidity
from forehear.ground.thiele_small import MechanicalConstants


@dataclass(frozen=True, eq=False)
class BlockedImpedance:
    """Impedance of a voice coil that cannot move: Re and what inductance and eddy currents add.

    Measured or fitted samples go in as they are; the makers below know three models.
    """

    grid: FrequencyGrid
    impedance_ohm: ComplexArray  # [frequency]

    def __post_init__(self) -> None:
        locked(self, "impedance_ohm", (len(self.grid),), "frequencies")
        if not np.all(np.isfinite(self.impedance_ohm)) or np.any(self.impedance_ohm.real <= 0):
            raise OutsideValidity(
                "a voice coil held still has a resistance of zero or less at some frequency",
                cure="state the true Re, or mend the impedance curve",
            )

    @classmethod
    def plain(cls, re_ohm: float, le_h: float, grid: FrequencyGrid) -> Self:
        """Take a resistance [ohm] and a lossless inductance [H]: Re + jw Le."""
        return cls(grid, re_ohm + _jw(grid) * le_h)

    @classmethod
    def leach(cls, re_ohm: float, k: float, n: float, grid: FrequencyGrid) -> Self:
        r"""Take a resistance and the one-term power law of a lossy inductance.

        .. math:: Z = R_e + K (j\omega)^n

        Parameters
        ----------
        re_ohm
            Resistance at direct current. [ohm]
        k
            Factor K. [ohm s^n]
        n
            Exponent: 1 is a pure inductance, 0.5 pure diffusion into the iron. [-]
        grid
            Frequencies. [Hz]

        Returns
        -------
        BlockedImpedance
            [frequency]. [ohm]

        Source
        ------
        leach-2002, eq. 1 (from memory): a fit, good over about a decade and a half.

        Examples
        --------
        >>> found = BlockedImpedance.leach(6.0, 0.02, 0.65, FrequencyGrid(np.array([500.0, 1000.0])))
        >>> print(f"{found.impedance_ohm[1]:.3f}")
        9.076+5.019j
        """
        if not (k >= 0 and 0 <= n <= 1):
            raise OutsideValidity(
                f"a voice coil needs K of zero or more and n from 0 to 1, found {k!r} and {n!r}",
                cure="fit K and n again",
            )
        return cls(grid, re_ohm + k * _jw(grid) ** n)

    @classmethod
    def two_inductances(
        cls, re_ohm: float, le_h: float, l2_h: float, r2_ohm: float, grid: FrequencyGrid
    ) -> Self:
        """Take Re [ohm], an inductance Le [H], and a second one L2 [H] with R2 [ohm] across it."""
        second = _jw(grid) * l2_h
        return cls(grid, re_ohm + _jw(grid) * le_h + second * r2_ohm / (second + r2_ohm))


@dataclass(frozen=True)
class DriverConstants:
    """The small-signal constants of one driver, complete."""

    re_ohm: float
    bl_n_a: float
    mms_kg: float
    cms_m_n: float
    rms_kg_s: float
    sd_m2: float
    blocked: BlockedImpedance

    def __post_init__(self) -> None:
        for name in ("re_ohm", "bl_n_a", "mms_kg", "cms_m_n", "rms_kg_s", "sd_m2"):
            value = getattr(self, name)
            if not (np.isfinite(value) and value > 0):
                raise OutsideValidity(
                    f"a driver needs {name} above zero, found {value!r}", cure=f"state a true value of {name}"
                )

    @classmethod
    def from_mechanical(cls, mechanical: MechanicalConstants, blocked: BlockedImpedance) -> Self:
        """Join mechanical constants and the impedance of the coil held still."""
        return cls(
            re_ohm=mechanical.re_ohm,
            bl_n_a=mechanical.bl_n_a,
            mms_kg=mechanical.mms_kg,
            cms_m_n=mechanical.cms_m_n,
            rms_kg_s=mechanical.rms_kg_s,
            sd_m2=mechanical.sd_m2,
            blocked=blocked,
        )


def _jw(grid: FrequencyGrid) -> ComplexArray:
    return np.asarray(2j * np.pi * grid.frequency_hz, dtype=np.complex128)
