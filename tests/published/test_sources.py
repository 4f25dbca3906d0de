"""Pistons, lines, spheres and the baffle step against print; section1.yaml names each source."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from forehear.ground.axes import Directions
from forehear.radiation import Diaphragm, cap_on_sphere, piston_directivity, point_on_sphere
from forehear.radiation.edges import edge_factor
from published.points import AIR, POINT, POINT_M2, C, Floats, db, in_baffle, named, off, row, toward
from published.printed import Case, as_printed, cases

CASES = cases("section1.yaml")
ELSEWHERE = as_printed("section1.yaml")["held_elsewhere"]
RADIUS_M = 0.1
used: set[str] = set()


def of(prefix: str) -> list[Case]:
    found = [case for name, case in CASES.items() if name.startswith(prefix) and name not in ELSEWHERE]
    used.update(case.id for case in found)
    return found


def piston(ka: float, angle_deg: float) -> float:
    return float(piston_directivity(ka * C / (2 * np.pi * RADIUS_M), np.radians(angle_deg), RADIUS_M))


def piston_x(x: float) -> float:
    """Directivity as a function of k a sin(angle), at 90 degrees."""
    return piston(x, 90.0)


# --- pistons


@pytest.mark.parametrize("case", of("S1.piston.D."), ids=named)
def test_piston_directivity(case: Case) -> None:
    ratio = piston(case.inputs["ka"], case.inputs["theta_deg"])
    case.check(D=ratio)
    if case.expected["level_dB"] is not None:
        case.check(level_dB=float(db(ratio)))


@pytest.mark.parametrize("case", of("S1.piston.marks"), ids=named)
def test_marks_of_the_main_lobe(case: Case) -> None:
    lobe = minimize_scalar(piston_x, bounds=(4.5, 6.0), method="bounded", options={"xatol": 1e-9})
    case.check(
        x_m3dB=brentq(lambda x: piston_x(x) - math.sqrt(0.5), 0.5, 3.0),
        x_half=brentq(lambda x: piston_x(x) - 0.5, 0.5, 3.0),
        x_m10dB=brentq(lambda x: piston_x(x) - 10**-0.5, 0.5, 3.5),
        x_null1=brentq(piston_x, 3.0, 4.5),
        x_sidelobe1=float(lobe.x),
        sidelobe1_dB=float(db(piston_x(float(lobe.x)))),
    )


@pytest.mark.parametrize("case", of("S1.piston.half6."), ids=named)
def test_half_angle(case: Case) -> None:
    ka = case.inputs["ka"]
    if case.expected is None:
        assert min(piston(ka, angle) for angle in np.linspace(0, 90, 91)) > 0.5
        return
    widest = min(90.0, math.degrees(math.asin(min(1.0, 3.8 / ka))))
    assert off(case, brentq(lambda angle: piston(ka, angle) - 0.5, 0.0, widest), case.expected) <= 1


@pytest.mark.parametrize("case", of("S1.piston.beam_ka2_level"), ids=named)
def test_level_where_beaming_begins(case: Case) -> None:
    case.check(**{f"dB{angle}": float(db(piston(case.inputs["ka"], angle))) for angle in (90, 60, 30)})


@pytest.mark.parametrize("case", of("S1.beaming."), ids=named)
def test_beaming_frequency_is_where_the_piston_has_the_level_of_ka_2(case: Case) -> None:
    begins = 10 ** (CASES["S1.piston.beam_ka2_level"].expected["dB90"] / 20)
    sizes = np.atleast_1d(case.inputs["d_mm"]) / 2000
    found = [
        brentq(
            lambda hz, size=size: (
                float(piston_directivity(hz, np.pi / 2, size, sound_speed_m_s=case.inputs["c"])) - begins
            ),
            10.0,
            3.5 * case.inputs["c"] / (2 * np.pi * size),
        )
        for size in sizes
    ]
    assert off(case, np.array(found), np.atleast_1d(case.expected), "rel") <= 1


def hemisphere(ka: float) -> tuple[Floats, float]:
    """Squared pressure ratio of a piston over the half space in front, as its integral, and on axis."""
    frequency = np.array([ka * C / (2 * np.pi * RADIUS_M)])
    node, weight = np.polynomial.legendre.leggauss(48)
    cosine = (node + 1) / 2
    unit = np.stack([cosine, np.sqrt(1 - cosine**2), 0 * cosine], axis=1)
    speaker = Diaphragm((0.0, 0.0), RADIUS_M, np.pi * RADIUS_M**2)
    squared = np.abs(in_baffle(speaker, Directions(unit), frequency)[:, 0]) ** 2
    ahead = np.abs(in_baffle(speaker, toward(0.0), frequency)[0, 0]) ** 2
    return 2 * np.pi * np.sum(squared * weight / 2), float(ahead)


@pytest.mark.parametrize("case", of("S1.piston.DI."), ids=named)
def test_directivity_index_of_a_piston(case: Case) -> None:
    integral, ahead = hemisphere(case.inputs["ka"])
    factor = 4 * np.pi * ahead / float(integral)
    case.check(Q=factor, DI_dB=10 * math.log10(factor))


@pytest.mark.parametrize("case", of("S1.piston.Zr."), ids=named)
def test_radiation_resistance_from_the_power_sent_out(case: Case) -> None:
    integral, _ = hemisphere(case.inputs["ka"])
    characteristic = AIR.density_kg_m3 * AIR.sound_speed_m_s
    case.check(R1=float(integral) / characteristic / (characteristic * np.pi * RADIUS_M**2))


# --- lines


def line(length_m: float, hz: float, angle_deg: float) -> float:
    """A line as Gauss points in a row on an infinite baffle."""
    node, weight = np.polynomial.legendre.leggauss(24)
    return float(row(node * length_m / 2, weight / 2, angle_deg, hz)[0].real)


def line_u(u: float) -> float:
    return line(2 * u * C / (2 * np.pi * 1000.0), 1000.0, 90.0)


@pytest.mark.parametrize("case", of("S1.line.D."), ids=named)
def test_line(case: Case) -> None:
    ratio = line(case.inputs["L_m"], case.inputs["f_Hz"], case.inputs["theta_deg"])
    assert float(db(ratio)) == pytest.approx(case.expected["dB"], abs=1e-4)
    case.check(D=ratio)


@pytest.mark.parametrize("case", of("S1.line.marks"), ids=named)
def test_marks_of_a_line(case: Case) -> None:
    lobe = minimize_scalar(line_u, bounds=(4.0, 5.0), method="bounded", options={"xatol": 1e-9})
    case.check(
        u_m3dB=brentq(lambda u: line_u(u) - math.sqrt(0.5), 0.5, 3.0),
        u_half=brentq(lambda u: line_u(u) - 0.5, 0.5, 3.0),
        u_null1=brentq(line_u, 2.5, 3.5),
        u_sidelobe1=float(lobe.x),
        sidelobe1_dB=float(db(line_u(float(lobe.x)))),
    )


# --- spheres and the baffle step


@pytest.mark.parametrize("case", of("S1.sphere.point."), ids=named)
def test_point_on_a_sphere(case: Case) -> None:
    cosine = np.cos(np.radians(case.inputs["theta_deg"]))
    ratio = point_on_sphere(np.array([case.inputs["ka"]], dtype=np.float64), cosine)[:, 0]
    assert off(case, db(ratio), case.expected["level_dB"]) <= 1
    assert off(case, np.degrees(np.angle(ratio)), case.expected["phase_deg"], "deg") <= 1


def sphere_gain_db(ka: float) -> float:
    return float(db(point_on_sphere(np.array([ka]), np.array([1.0]))[0, 0]))


@pytest.mark.parametrize("case", of("S1.sphere.step"), ids=named)
def test_step_of_a_sphere(case: Case) -> None:
    case.check(
        ka_3dB=brentq(lambda ka: sphere_gain_db(ka) - 10 * math.log10(2), 0.3, 3.0),
        gain_ka0p01_dB=sphere_gain_db(0.01),
        max_dB_ka_le_40=max(sphere_gain_db(ka) for ka in np.geomspace(0.01, 40.0, 200)),
    )


@pytest.mark.parametrize("case", of("S1.step.total"), ids=named)
def test_total_step_between_a_baffle_and_none(case: Case) -> None:
    frequency = np.array([1000.0])
    free = 0.5 * frequency[0] * AIR.density_kg_m3 * POINT_M2
    ahead = in_baffle(POINT, toward(0.0), frequency)
    to_a_side = in_baffle(POINT, toward(90.0), frequency)
    power = (abs(ahead[0, 0]) ** 2 + abs(to_a_side[0, 0]) ** 2) / 2 / 2  # even over one half of the sphere
    case.check(
        dB=float(db(ahead[0, 0] / free)),
        power_dB_if_volume_velocity_constant=10 * math.log10(power / free**2),
    )


@pytest.mark.parametrize("case", of("S1.step.f3_rule"), ids=named)
def test_rule_of_thumb_for_the_step_is_that_of_a_ball_as_wide(case: Case) -> None:
    ka = brentq(lambda x: sphere_gain_db(x) - 10 * math.log10(2), 0.3, 3.0)
    assert off(case, ka * C / (np.pi * case.inputs["W_m"]), case.expected, "rel") <= 1


@pytest.mark.parametrize("case", of("S1.disc.first_order"), ids=named)
def test_ripple_of_a_thin_disc_lies_where_the_simple_model_puts_it(case: Case) -> None:
    ka = np.array(case.inputs["ka"])
    corners = 256
    around = 2 * np.pi * np.arange(corners) / corners
    radius = RADIUS_M * math.sqrt(2 * np.pi / corners / math.sin(2 * np.pi / corners))  # equal area
    outline = radius * np.stack([np.cos(around), np.sin(around)], axis=1)
    hz = np.append(ka, 40.0) * C / (2 * np.pi * RADIUS_M)  # the highest sets how finely the model samples
    waves = edge_factor(0.0, outline, toward(0.0).unit, hz, C, exterior_angle_rad=2 * np.pi)[0, :-1]
    edge = waves / math.sqrt(2)  # by the secant of 45 degrees: see not_applicable_in_part
    assert off(case, db(2 + edge), case.expected) <= 1


def cap_of_points_db(half_angle_deg: float, ka: float, angle_deg: Sequence[float]) -> Floats:
    """A cap moving along its radii as the points it consists of: the exact series, summed over the cap."""
    node, weight = np.polynomial.legendre.leggauss(24)
    start = math.cos(math.radians(half_angle_deg))
    height = start + (1 - start) * (node + 1) / 2  # cosine of the angle from the axis, even in area
    around = 2 * np.pi * (np.arange(48) + 0.5) / 48
    off_axis = np.radians(angle_deg)[:, None, None]
    cosine = np.cos(off_axis) * height[:, None] + np.sin(off_axis) * np.sqrt(1 - height**2)[:, None] * np.cos(
        around
    )
    field = point_on_sphere(np.array([ka]), np.clip(cosine, -1, 1).ravel())[:, 0].reshape(cosine.shape)
    return db(field.mean(axis=2) @ (weight / weight.sum()))


@pytest.mark.parametrize("case", of("S1.cap."), ids=named)
def test_caps_on_a_sphere(case: Case) -> None:
    ka, half_deg = float(case.inputs["ka"]), case.inputs["theta0_deg"]
    if case.inputs["kind"] == "axial":
        cosine = np.cos(np.radians(case.inputs["theta_deg"]))
        level = db(cap_on_sphere(np.array([ka]), cosine, math.radians(half_deg))[:, 0])
    else:
        level = cap_of_points_db(half_deg, ka, case.inputs["theta_deg"])
    assert off(case, level, case.expected["level_dB"]) <= 1


def test_every_case_is_used_here_or_elsewhere() -> None:
    assert set(CASES) == used | set(ELSEWHERE)
    assert not used & set(ELSEWHERE)
