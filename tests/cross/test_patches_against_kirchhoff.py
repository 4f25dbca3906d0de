"""Small reflectors against Kirchhoff's integral over their face, point by point."""

import numpy as np
from numpy.random import Generator
from scipy.special import fresnel

from forehear.ground.arrays import FloatArray
from forehear.room import Patch, patch_factor, patch_paths

SPEED_M_S = 343.2
OUTSIDE = Patch(np.zeros(3), np.array([0.0, 0.0, 1.0]), np.array([1.0, 0.0, 0.0]), 1.0, 1.0, np.ones(8))


def _counted(patch: Patch, source: FloatArray, ear: FloatArray, frequency_hz: float) -> complex:
    """Kirchhoff's integral with the mean of both obliquities, re the mirror image; patch at the origin, facing z.

    Over an endless plane it is the mirror image exactly. Gauss points, 24 a wavelength and 60 at least.
    """
    k = 2 * np.pi * frequency_hz / SPEED_M_S
    sides = (patch.width_m, patch.height_m)
    points = [np.polynomial.legendre.leggauss(max(60, int(24 * side * k / 6))) for side in sides]
    (x, of_x), (y, of_y) = (
        (side / 2 * node, side / 2 * weight) for side, (node, weight) in zip(sides, points, strict=True)
    )
    r = np.sqrt(((x - source[0]) ** 2)[:, None] + (y - source[1]) ** 2 + source[2] ** 2)
    s = np.sqrt(((x - ear[0]) ** 2)[:, None] + (y - ear[1]) ** 2 + ear[2] ** 2)
    oblique = ((1j * k + 1 / r) * source[2] / r + (1j * k + 1 / s) * ear[2] / s) / 2
    over = of_x @ (np.exp(-1j * k * (r + s)) / (r * s) * oblique) @ of_y / (2 * np.pi)
    way = np.linalg.norm(source - ear * [1, 1, -1])
    return complex(over * way * np.exp(1j * k * way))


def _plain_product(patch: Patch, source: FloatArray, ear: FloatArray, frequency_hz: float) -> complex:
    """The textbook's product of Fresnel integrals over a parabola about the mirror point, for comparison."""
    share = source[2] / (source[2] + ear[2])
    point = source + (ear - source) * share
    way = ear * [1, 1, -1] - source
    distance = float(np.linalg.norm(way))
    product = 1.0 + 0.0j
    for axis, side in enumerate((patch.width_m, patch.height_m)):
        bend = (1 - (way[axis] / distance) ** 2) / (distance * share * (1 - share))
        v = (np.array([-side / 2, side / 2]) - point[axis]) * np.sqrt(2 * bend * frequency_hz / SPEED_M_S)
        sine, cosine = fresnel(v)
        product *= (np.diff(cosine)[0] - 1j * np.diff(sine)[0]) / (1 - 1j)
    return product


def _case(random: Generator) -> tuple[Patch, FloatArray, FloatArray, float]:
    """A board of 0.3 to 1.5 m, source 0.1 to 1.5 m off and at most 1 m aside, ear up to 3 m off and 2 m aside."""
    width, height = random.uniform(0.3, 1.5, 2)
    patch = Patch(np.zeros(3), OUTSIDE.normal, OUTSIDE.across, width, height, np.ones(8))
    source = np.array([*random.uniform(-1, 1, 2), random.uniform(0.1, 1.5)])
    ear = np.array([*random.uniform(-2, 2, 2), random.uniform(0.3, 3)])
    return patch, source, ear, float(np.exp(random.uniform(np.log(200), np.log(8000))))


def _level(factor: complex) -> float:
    return float(20 * np.log10(abs(factor)))


def test_boards_at_random() -> None:
    """Those above -15 dB re the mirror: the figures at the head of patches.py."""
    random = np.random.default_rng(7)
    apart, strong, plain, off = [], [], [], []
    for _ in range(500):
        patch, source, ear, frequency = _case(random)
        counted = _counted(patch, source, ear, frequency)
        found = complex(patch_factor(patch, source, ear, np.array([frequency]), SPEED_M_S)[0])
        off.append(abs(found - counted))
        if _level(counted) > -15.0:
            apart.append(abs(_level(found) - _level(counted)))
            if _level(counted) > -10.0:
                strong.append(apart[-1])
            plain.append(abs(_level(_plain_product(patch, source, ear, frequency)) - _level(counted)))
    assert len(apart) > 150
    assert np.median(apart) < 0.08
    assert np.percentile(apart, 90) < 0.4
    assert max(strong) < 1.6
    assert max(off) < 0.1
    assert np.percentile(plain, 90) > 2.0


def test_at_20_khz_too() -> None:
    """A desk top 0.25 m under the speaker, where hundreds of zones lie on it."""
    desk = Patch(np.zeros(3), OUTSIDE.normal, OUTSIDE.across, 1.5, 0.7, np.ones(8))
    source, ear = np.array([-0.3, 0.1, 0.25]), np.array([0.4, -0.3, 0.45])
    for frequency in (12_000.0, 20_000.0):
        found = complex(patch_factor(desk, source, ear, np.array([frequency]), SPEED_M_S)[0])
        counted = _counted(desk, source, ear, frequency)
        assert abs(found - counted) < 0.01


def test_the_way_meets_the_board_where_the_image_says() -> None:
    """Fermat: no other point of the board gives a shorter way."""
    random = np.random.default_rng(3)
    for _ in range(50):
        patch, source, ear, _ = _case(random)
        paths = patch_paths(patch, source, ear[None])
        struck = source + paths.departure_m[0] * source[2] / -paths.departure_m[0, 2]
        way = np.linalg.norm(struck - source) + np.linalg.norm(struck - ear)
        half = np.array([patch.width_m, patch.height_m]) / 2
        assert np.all(np.abs(struck[:2]) <= half + 1e-9)
        assert way >= paths.distance_m[0] - 1e-9
        if np.all(np.abs(struck[:2]) < half - 1e-9):
            assert np.isclose(way, paths.distance_m[0])
