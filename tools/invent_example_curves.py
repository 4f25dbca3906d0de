"""Write the invented response and impedance curves of the example's drivers.

Nothing here was measured. Each driver is a textbook moving-coil driver in a large baffle with a few resonances of its
own on top, so that the curves look and behave like those of real drivers without being anybody's.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from forehear.ground.arrays import ComplexArray, FloatArray

FOLDER = Path(__file__).parent.parent / "examples" / "attic-cinema" / "parts"
SOUND_SPEED_M_S, DENSITY_KG_M3 = 343.2, 1.2041


@dataclass(frozen=True)
class Invented:
    """One invented driver; resonances are (frequency_hz, quality, gain_db)."""

    name: str
    re_ohm: float
    fs_hz: float
    qms: float
    qes: float
    vas_m3: float
    sd_m2: float
    semi_inductance: tuple[float, float]
    resonances: tuple[tuple[float, float, float], ...]
    roll_off: tuple[float, float]  # frequency_hz, quality of the cone's own low pass
    highest_hz: float


DRIVERS = (
    Invented(
        "cone-130", 6.9, 52.0, 3.8, 0.46, 10.5e-3, 86e-4, (0.016, 0.62),
        ((1150, 2.2, -2.0), (4600, 2.8, 3.5), (6100, 4.0, -3.0), (8300, 5.0, 5.5)), (7400, 0.8), 20_500,
    ),
    Invented(
        "cone-165", 5.7, 39.0, 4.2, 0.40, 26e-3, 137e-4, (0.017, 0.62),
        ((900, 2.0, -1.8), (3300, 2.5, 2.5), (4500, 3.5, -2.5), (5700, 5.0, 6.0)), (5600, 0.8), 20_500,
    ),
    Invented(
        "cone-75", 6.1, 135.0, 3.2, 0.62, 1.15e-3, 36e-4, (0.007, 0.64),
        ((1900, 2.0, -1.3), (6600, 2.5, 2.5), (8600, 4.0, -2.0), (11500, 5.0, 5.0)), (12500, 0.8), 20_500,
    ),
    Invented(
        "dome-25", 5.3, 760.0, 2.4, 1.05, 12.5e-6, 7.1e-4, (0.0022, 0.66),
        ((3500, 1.6, -0.8), (9000, 1.8, 1.2), (14000, 3.0, -1.5), (24500, 3.0, 4.0)), (27000, 0.9), 22_000,
    ),
)  # fmt: skip


def main() -> None:
    """Write one response and one impedance file for each driver."""
    for driver in DRIVERS:
        frequency_hz = 10 ** np.arange(np.log10(15.0), np.log10(driver.highest_hz), 0.3 / 24)
        impedance = _impedance(driver, frequency_hz)
        _write(
            f"{driver.name}-impedance.txt",
            "impedance in free air, ohm and degrees",
            np.stack([frequency_hz, np.abs(impedance), np.degrees(np.angle(impedance))], axis=1),
        )
        level_db = _level_db(driver, frequency_hz)
        _write(
            f"{driver.name}-response.txt",
            "level in a large baffle, on axis, at 1 m for 2.83 V, dB re 20 uPa",
            np.stack([frequency_hz, level_db], axis=1),
        )


def _mechanical(driver: Invented, jw: ComplexArray) -> tuple[ComplexArray, float]:
    """Mechanical impedance and force factor from the small-signal set (Small 1972)."""
    stiffness = DENSITY_KG_M3 * SOUND_SPEED_M_S**2 * driver.sd_m2**2 / driver.vas_m3
    omega = 2 * np.pi * driver.fs_hz
    mass = stiffness / omega**2
    force_factor = float(np.sqrt(omega * mass * driver.re_ohm / driver.qes))
    return jw * mass + omega * mass / driver.qms + stiffness / jw, force_factor


def _impedance(driver: Invented, frequency_hz: FloatArray) -> ComplexArray:
    jw = 2j * np.pi * frequency_hz
    mechanical, force_factor = _mechanical(driver, jw)
    factor, power = driver.semi_inductance
    surround_hz = driver.resonances[0][0]
    x = frequency_hz / surround_hz
    surround = 0.25 / (1 + 3j * (x - 1 / x))  # the surround's own little resonance, seen through the coil
    impedance: ComplexArray = driver.re_ohm + factor * jw**power + force_factor**2 / mechanical + surround
    return impedance


def _level_db(driver: Invented, frequency_hz: FloatArray) -> FloatArray:
    jw = 2j * np.pi * frequency_hz
    mechanical, force_factor = _mechanical(driver, jw)
    velocity = np.sqrt(8.0) * force_factor / (_impedance(driver, frequency_hz) * mechanical)
    pressure = jw * DENSITY_KG_M3 * driver.sd_m2 * velocity / (2 * np.pi)
    shape = np.ones_like(jw)
    for resonance_hz, quality, gain_db in driver.resonances:
        s, a = 1j * frequency_hz / resonance_hz, 10 ** (gain_db / 40)
        shape = shape * (s**2 + s * a / quality + 1) / (s**2 + s / (a * quality) + 1)
    s = 1j * frequency_hz / driver.roll_off[0]
    shape = shape / (s**2 + s / driver.roll_off[1] + 1)
    octaves = np.log2(frequency_hz / 1000)
    ripple_db = 0.2 * np.sin(9.1 * octaves + driver.fs_hz) + 0.15 * np.sin(23.0 * octaves + driver.re_ohm)
    level_db: FloatArray = 20 * np.log10(np.abs(pressure * shape) / 20e-6) + ripple_db
    return level_db


def _write(name: str, what: str, columns: FloatArray) -> None:
    lines = [f"# invented for this example, nobody's measurement: {what}"]
    lines += ["\t".join([f"{row[0]:.2f}", *(f"{value:.2f}" for value in row[1:])]) for row in columns]
    (FOLDER / name).write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
