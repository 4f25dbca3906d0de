"""The air sound travels in; passed to whoever needs it, never global."""

import math
from dataclasses import dataclass

GAS_CONSTANT_AIR_J_KG_K = 287.05  # dry air, from memory; density then agrees with handbook tables to 0.1 %
ZERO_CELSIUS_K = 273.15


@dataclass(frozen=True)
class Air:
    """Air at rest.

    Source
    ------
    iso-9613-1: sound speed 343.2 m/s at 20 C, proportional to the root of the absolute temperature.

    Examples
    --------
    >>> round(Air().sound_speed_m_s, 1), round(Air().density_kg_m3, 4)
    (343.2, 1.2041)
    """

    temperature_c: float = 20.0
    pressure_pa: float = 101_325.0
    relative_humidity: float = 0.5

    @property
    def sound_speed_m_s(self) -> float:
        """Speed of sound [m/s]."""
        return 343.2 * math.sqrt((ZERO_CELSIUS_K + self.temperature_c) / (ZERO_CELSIUS_K + 20.0))

    @property
    def density_kg_m3(self) -> float:
        """Density of dry air as an ideal gas [kg/m3]."""
        return self.pressure_pa / (GAS_CONSTANT_AIR_J_KG_K * (ZERO_CELSIUS_K + self.temperature_c))
