"""Thiele-Small arithmetic: one driver as its mechanical constants, and as the numbers a data sheet prints."""

import math
from dataclasses import dataclass

from forehear.ground.air import Air
from forehear.ground.errors import OutsideValidity
from forehear.ground.levels import REFERENCE_PRESSURE_PA, REFERENCE_VOLTAGE_V


@dataclass(frozen=True)
class MechanicalConstants:
    """A moving-coil driver at small signals, the air load it was measured with included."""

    re_ohm: float  # voice coil at direct current
    bl_n_a: float  # force factor, N/A, the same number as T m
    mms_kg: float  # moving mass with its air load
    cms_m_n: float  # compliance of the suspension
    rms_kg_s: float  # mechanical resistance of the suspension
    sd_m2: float  # effective area of the diaphragm


@dataclass(frozen=True)
class Resonance:
    """The resonance of a driver outside any box."""

    fs_hz: float
    qms: float  # mechanical losses alone
    qes: float  # the amplifier's short circuit through Re alone

    @property
    def qts(self) -> float:
        """Both losses together."""
        return self.qms * self.qes / (self.qms + self.qes)


@dataclass(frozen=True)
class SmallSignal:
    """The set a data sheet prints, with the efficiency and sensitivity that follow from it."""

    fs_hz: float
    qms: float
    qes: float
    qts: float
    vas_m3: float
    efficiency: float  # acoustic power into half space over Re times current squared, above resonance
    sensitivity_1w_db: float  # dB re 20 uPa, half space, 1 m, 1 W into Re
    sensitivity_2v83_db: float  # dB re 20 uPa, half space, 1 m, 2.83 V at the terminals


def mechanical_from_small_signal(
    resonance: Resonance, vas_m3: float, re_ohm: float, sd_m2: float, air: Air
) -> MechanicalConstants:
    r"""Mechanical constants of a driver from its small-signal set.

    .. math::
        C_{ms} = V_{as} / (\rho c^2 S_d^2), \quad M_{ms} = 1 / (\omega_s^2 C_{ms}),
        \quad R_{ms} = \omega_s M_{ms} / Q_{ms}, \quad Bl = \sqrt{\omega_s M_{ms} R_e / Q_{es}}

    Parameters
    ----------
    resonance
        Resonance frequency [Hz] with Qms and Qes [-].
    vas_m3
        Volume of air as springy as the suspension. [m3]
    re_ohm
        Direct-current resistance of the voice coil. [ohm]
    sd_m2
        Effective area of the diaphragm. [m2]
    air
        The air in which Vas was stated. [-]

    Returns
    -------
    MechanicalConstants
        Re, Bl, Mms, Cms, Rms, Sd. [ohm, N/A, kg, m/N, kg/s, m2]

    Source
    ------
    small-1972-direct, sec. 2: small signals, a rigid diaphragm.

    Examples
    --------
    >>> found = mechanical_from_small_signal(Resonance(40.0, 4.0, 0.45), 0.0266, 6.2, 0.0133, Air())
    >>> round(found.mms_kg * 1e3, 2), round(found.bl_n_a, 2)
    (14.93, 7.19)
    """
    _all_above_zero(
        fs_hz=resonance.fs_hz, qms=resonance.qms, qes=resonance.qes, vas_m3=vas_m3, re_ohm=re_ohm, sd_m2=sd_m2
    )
    omega = 2 * math.pi * resonance.fs_hz
    cms_m_n = vas_m3 / (air.density_kg_m3 * air.sound_speed_m_s**2 * sd_m2**2)
    mms_kg = 1 / (omega**2 * cms_m_n)
    return MechanicalConstants(
        re_ohm=re_ohm,
        bl_n_a=math.sqrt(omega * mms_kg * re_ohm / resonance.qes),
        mms_kg=mms_kg,
        cms_m_n=cms_m_n,
        rms_kg_s=omega * mms_kg / resonance.qms,
        sd_m2=sd_m2,
    )


def small_signal_from_mechanical(constants: MechanicalConstants, air: Air) -> SmallSignal:
    r"""Small-signal set, efficiency and sensitivity of a driver from its mechanical constants.

    .. math::
        f_s = \frac{1}{2\pi\sqrt{M_{ms} C_{ms}}}, \quad Q_{ms} = \frac{\omega_s M_{ms}}{R_{ms}}, \quad
        Q_{es} = \frac{\omega_s M_{ms} R_e}{(Bl)^2}, \quad V_{as} = \rho c^2 S_d^2 C_{ms}, \quad
        \eta_0 = \frac{\rho (Bl)^2 S_d^2}{2\pi c R_e M_{ms}^2}

    Parameters
    ----------
    constants
        Re, Bl, Mms, Cms, Rms, Sd. [ohm, N/A, kg, m/N, kg/s, m2]
    air
        The air it works in. [-]

    Returns
    -------
    SmallSignal
        Resonance [Hz], Qs [-], Vas [m3], efficiency [-], sensitivities [dB re 20 uPa at 1 m].

    Source
    ------
    small-1972-direct, sec. 2 and 3: mass-controlled range, small against the wavelength, half space.

    Examples
    --------
    >>> constants = MechanicalConstants(6.2, 6.5, 0.0145, 1.05e-3, 0.95, 0.0133)
    >>> found = small_signal_from_mechanical(constants, Air())
    >>> round(found.fs_hz, 2), round(found.qts, 4), round(found.sensitivity_2v83_db, 2)
    (40.79, 0.4786, 88.32)
    """
    _all_above_zero(**vars(constants))
    omega = 1 / math.sqrt(constants.mms_kg * constants.cms_m_n)
    resonance = Resonance(
        fs_hz=omega / (2 * math.pi),
        qms=omega * constants.mms_kg / constants.rms_kg_s,
        qes=omega * constants.mms_kg * constants.re_ohm / constants.bl_n_a**2,
    )
    efficiency = half_space_efficiency(constants, air)
    one_watt_db = half_space_level_db(efficiency, air)
    return SmallSignal(
        fs_hz=resonance.fs_hz,
        qms=resonance.qms,
        qes=resonance.qes,
        qts=resonance.qts,
        vas_m3=air.density_kg_m3 * air.sound_speed_m_s**2 * constants.sd_m2**2 * constants.cms_m_n,
        efficiency=efficiency,
        sensitivity_1w_db=one_watt_db,
        sensitivity_2v83_db=one_watt_db + 10 * math.log10(REFERENCE_VOLTAGE_V**2 / constants.re_ohm),
    )


def half_space_efficiency(constants: MechanicalConstants, air: Air) -> float:
    """Acoustic power into half space over electric power in Re, in the mass-controlled range [-]."""
    drive = constants.bl_n_a * constants.sd_m2 / constants.mms_kg
    return air.density_kg_m3 * drive**2 / (2 * math.pi * air.sound_speed_m_s * constants.re_ohm)


def half_space_level_db(acoustic_power_w: float, air: Air) -> float:
    """Level at 1 m of a power spread evenly over half space [dB re 20 uPa]."""
    pressure_squared_pa2 = air.density_kg_m3 * air.sound_speed_m_s * acoustic_power_w / (2 * math.pi)
    return 10 * math.log10(pressure_squared_pa2 / REFERENCE_PRESSURE_PA**2)


def _all_above_zero(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise OutsideValidity(
                f"a driver needs {name} above zero, found {value!r}", cure=f"state a true value of {name}"
            )
