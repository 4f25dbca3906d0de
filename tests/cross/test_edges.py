"""First-order edges against other routes: adaptive quadrature, a closed form, and boundary elements."""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad

from cross.boundary_elements import box_factor, box_mesh
from forehear.ground.air import Air
from forehear.ground.axes import Directions
from forehear.radiation import (
    Diaphragm,
    Front,
    equal_volume_sphere_radius_m,
    instant_pressure,
    point_on_sphere,
)
from forehear.radiation.edges import disc_in_plane, edge_factor

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]
C = Air().sound_speed_m_s


def plain_edge_integral(outline_m: Floats, unit: Floats, wavenumber: float) -> complex:
    """Line integral over the edges of a box as it stands in the literature, by adaptive quadrature.

    -nu/4pi int beta exp(-jk(m - d.x))/m dz with beta = sum of four sin(nu phi)/(cosh(nu eta) - cos(nu phi))
    and cosh eta = (m - (z - z_s) d_z)/(r_s sqrt(1 - d_z^2)) (Svensson, Fred and Vanderkooy 1999, from
    memory).
    """
    nu = 2 / 3
    total = 0j
    for start, end in zip(outline_m, np.roll(outline_m, -1, axis=0), strict=True):
        length = float(np.linalg.norm(end - start))
        along = (end - start) / length
        outward = np.array([along[1], -along[0]])
        near, along_d = float(start @ outward), float(unit[1:] @ along)
        theta = math.atan2(unit[0], -float(unit[1:] @ outward)) % (2 * math.pi)

        def integrand(z: float, part: int, frame: tuple[Floats, Floats, float, float, float]) -> float:
            corner, t, r_s, d_z, theta_r = frame
            place = corner + z * t
            m = float(np.hypot(*place))
            cosh = max(1.0, (m - float(place @ t) * d_z) / (r_s * math.sqrt(1 - d_z**2)))
            opened = math.cosh(nu * math.acosh(cosh))
            beta = 2 * sum(
                math.sin(nu * phi) / (opened - math.cos(nu * phi))
                for phi in (math.pi + theta_r, math.pi - theta_r)
            )
            wave = np.exp(-1j * wavenumber * (m - float(unit[1:] @ place))) * beta / m
            return float(wave.real if part == 0 else wave.imag)

        frame = (start, along, near, along_d, theta)
        parts = [quad(integrand, 0, length, args=(part, frame), limit=400)[0] for part in (0, 1)]
        total += -nu / (4 * math.pi) * complex(*parts)
    return total


@pytest.mark.parametrize("angle_deg", [(0.0, 0.0), (35.0, 0.0), (60.0, 20.0), (86.0, 0.0), (0.0, -70.0)])
def test_delays_and_weights_are_the_line_integral(angle_deg: tuple[float, float]) -> None:
    outline = Front.rectangle(0.35, 0.13, 0.2, centre_m=(-0.06, 0.02)).outline_m
    unit = Directions.from_angles(*np.radians(np.array(angle_deg))[:, None]).unit
    hz = np.array([50.0, 800.0, 6000.0, 20_000.0])
    found = edge_factor(0.0, outline, unit, hz, C)[0]
    wanted = [plain_edge_integral(outline, unit[0], 2 * math.pi * f / C) for f in hz]
    np.testing.assert_allclose(found, wanted, atol=0.006)  # 0.05 dB of the direct sound
    np.testing.assert_allclose(found[:3], wanted[:3], atol=0.001)


def test_a_thin_disc_on_axis_is_the_closed_form_of_its_rim() -> None:
    """A half plane seen along its surface diffracts sec(45 degrees) square to it: 2 - sqrt(2) exp(-jka)."""
    corners, radius = 360, 0.1
    around = 2 * np.pi * np.arange(corners) / corners
    outline = radius * np.stack([np.cos(around), np.sin(around)], axis=1)
    hz = np.geomspace(20.0, 4000.0, 40)
    ahead, sampled = np.array([[1.0, 0.0, 0.0]]), np.append(hz, 12_000.0)
    waves = edge_factor(0.0, outline, ahead, sampled, C, exterior_angle_rad=2 * math.pi)[0, :-1]
    np.testing.assert_allclose(waves, -math.sqrt(2) * np.exp(-2j * np.pi * hz / C * radius), atol=0.002)


@pytest.mark.parametrize("distance_m", [0.051, 0.08, 0.3])
def test_spread_of_a_disc_is_its_surface_integral(distance_m: float) -> None:
    radius, wavenumber = 0.05, np.array([0.0, 20.0, 100.0, 300.0])
    node, weight = np.polynomial.legendre.leggauss(120)
    r = radius * (node + 1) / 2
    phi = 2 * np.pi * (np.arange(240) + 0.5) / 240
    m = np.sqrt(distance_m**2 + r[:, None] ** 2 - 2 * distance_m * r[:, None] * np.cos(phi))
    share = (weight * r / (weight * r).sum())[:, None] / phi.size
    wanted = [np.sum(share * distance_m / m * np.exp(-1j * k * (m - distance_m))) for k in wavenumber]
    np.testing.assert_allclose(disc_in_plane(wavenumber, radius, distance_m), wanted, atol=2e-3)


def fan() -> Directions:
    angle, flat = np.radians(np.arange(0.0, 61.0, 15.0)), np.zeros(1)
    return Directions.joined(
        Directions.from_angles(angle, flat),
        Directions.from_angles(-angle[1:], flat),
        Directions.from_angles(flat, angle[1:]),
    )


def disc_points(radius_m: float) -> Floats:
    """Points that share a disc equally, [point, (0, y, z)]."""
    count = 24 if radius_m > 0 else 1
    step = np.arange(count) + 0.5
    r, phi = radius_m * np.sqrt(step / count), step * math.pi * (3 - math.sqrt(5))
    return np.stack([np.zeros(count), r * np.cos(phi), r * np.sin(phi)], axis=1)


@pytest.mark.parametrize(
    ("size_m", "centre_m", "radius_m"),
    [
        ((0.2, 0.2, 0.2), (0.0, 0.0), 0.0),
        ((0.2, 0.2, 0.2), (0.0, 0.0), 0.05),
        ((0.2, 0.3, 0.18), (0.02, 0.06), 0.04),
    ],
    ids=["point on a square", "disc on a square", "disc off the middle"],
)
def test_boxes_agree_with_boundary_elements_in_front(
    size_m: tuple[float, float, float], centre_m: tuple[float, float], radius_m: float
) -> None:
    """Measured here: 0.4 dB rms and 0.85 dB at most; the elements themselves are good to about 0.15 dB."""
    width, height, depth = size_m
    mesh = box_mesh(width, height, depth, 0.033)
    speaker = Diaphragm(centre_m, radius_m, 1e-3)
    directions, hz = fan(), np.array([150.0, 400.0, 800.0, 1250.0])
    found = instant_pressure(speaker, Front.rectangle(width, height, depth), directions, hz, Air())
    source = disc_points(radius_m) + np.array([0.0, *centre_m])
    wanted = np.stack([box_factor(mesh, source, directions.unit, 2 * np.pi * f / C) for f in hz], axis=1)
    wanted = wanted * 0.5j * hz * Air().density_kg_m3 * 1e-3
    apart = 20 * np.log10(np.abs(found / wanted))
    turned = np.degrees(np.angle(found / wanted))
    assert np.sqrt(np.mean(apart**2)) < 0.5
    assert np.max(np.abs(apart)) < 1.0
    assert np.max(np.abs(turned)) < 10.0


def test_behind_the_box_the_ball_is_an_estimate_within_a_few_decibels() -> None:
    """Marked estimated for this reason: 1.5 dB rms at 800 Hz, up to 2 dB on single directions.

    Up to there the gain that the power asks for brings the ball nearer to the box, but for 0.2 dB at 150 Hz.
    """
    mesh = box_mesh(0.2, 0.2, 0.2, 0.033)
    directions = Directions.from_angles(np.radians(np.arange(105.0, 181.0, 15.0)), np.zeros(1))
    hz = np.array([150.0, 400.0, 800.0])
    found = instant_pressure(
        Diaphragm((0.0, 0.0), 0.0, 1e-3), Front.rectangle(0.2, 0.2, 0.2), directions, hz, Air()
    )
    wanted = [box_factor(mesh, np.zeros((1, 3)), directions.unit, 2 * np.pi * f / C) for f in hz]
    apart = 20 * np.log10(np.abs(found.T / (0.5 * hz * Air().density_kg_m3 * 1e-3)[:, None] / np.abs(wanted)))
    assert np.all(np.sqrt(np.mean(apart**2, axis=1)) < [0.25, 0.45, 1.7])


@pytest.mark.parametrize(
    ("size_m", "centre_m"),
    [((0.2, 0.2, 0.2), (0.0, 0.0)), ((0.2, 0.35, 0.25), (0.02, 0.1)), ((0.22, 0.5, 0.25), (0.0, 0.15))],
)
def test_step_of_a_box_on_axis_is_that_of_a_ball_but_for_its_ripple(
    size_m: tuple[float, float, float], centre_m: tuple[float, float]
) -> None:
    """The exact series of a ball of equal volume is the yardstick: up to ka = 1, and on average above ka = 8.

    Between, a flat front ripples where a ball does not: up to 3.7 dB over two octaves for a source in the middle of a
    cube, as boundary elements find too.
    """
    width, height, depth = size_m
    front = Front.rectangle(width, height, depth)
    ka = np.concatenate([np.geomspace(0.02, 1.0, 40), np.geomspace(8.0, 40.0, 300)])
    hz = ka * C / (2 * np.pi * equal_volume_sphere_radius_m(front))
    ahead = Directions(np.array([[1.0, 0.0, 0.0]]))
    found = instant_pressure(Diaphragm(centre_m, 0.0, 1e-3), front, ahead, hz, Air())[0]
    ball = point_on_sphere(ka, np.array([1.0]))[0]
    apart = 20 * np.log10(np.abs(found / ball) / (0.5 * hz * Air().density_kg_m3 * 1e-3))
    assert np.max(np.abs(apart[ka <= 1.0])) < 0.75
    assert abs(np.mean(apart[ka >= 8.0])) < 0.5
