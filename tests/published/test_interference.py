"""Interference and sums of ideal crossovers against print; section2.yaml names each source."""

import math
from collections.abc import Sequence

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from acoustic_voltages import ideal_ways
from forehear.ground.levels import level_db
from forehear.radiation import Diaphragm
from published.points import POINT, POINT_M2, C, Floats, db, in_baffle, named, off, row, toward
from published.printed import Case, cases

CASES = cases("section2.yaml")
used: set[str] = set()


def of(prefix: str) -> list[Case]:
    found = [case for name, case in CASES.items() if name.startswith(prefix)]
    used.update(case.id for case in found)
    return found


def these(*names: str) -> list[Case]:
    used.update(names)
    return [CASES[name] for name in names]


# --- interference


def pair(spacing_m: float, hz: float, angle_deg: float) -> float:
    """Two equal points, over both on axis; real because their middle is the reference."""
    return float(row([-spacing_m / 2, spacing_m / 2], [0.5, 0.5], angle_deg, hz)[0].real)


@pytest.mark.parametrize("case", of("S2.two.null."), ids=named)
def test_angle_of_a_null(case: Case) -> None:
    spacing, hz = case.inputs["d_m"], float(case.inputs["f_Hz"])
    angle = np.linspace(0.0, 90.0, 91)
    level = [pair(spacing, hz, a) for a in angle]
    turns = [i for i in range(90) if level[i] * level[i + 1] < 0]
    start = turns[case.inputs["m"]]
    assert (
        off(case, brentq(lambda a: pair(spacing, hz, a), angle[start], angle[start + 1]), case.expected) <= 1
    )


@pytest.mark.parametrize("case", of("S2.two.lobe."), ids=named)
def test_main_lobe_of_a_pair(case: Case) -> None:
    hz, spacing = 1000.0, case.inputs["d_over_lambda"] * C / 1000.0
    grazing = pair(spacing, hz, 90.0)
    for name, height in (("half3_deg", math.sqrt(0.5)), ("half6_deg", 0.5), ("null_deg", 0.0)):
        printed = case.expected[name]
        if printed is None:
            assert min(pair(spacing, hz, a) for a in np.linspace(0, 90, 91)) > height
        elif printed == 90.0:
            assert grazing == pytest.approx(height, abs=1e-9)
        else:
            assert (
                off(case, brentq(lambda a, h=height: pair(spacing, hz, a) - h, 0.0, printed + 3), printed)
                <= 1
            )
    if case.expected["level90_dB"] is None:
        assert abs(grazing) < 1e-9
    else:
        assert off(case, float(db(grazing)), case.expected["level90_dB"]) <= 1


@pytest.mark.parametrize("case", of("S2.mtm.woofers."), ids=named)
def test_first_null_of_two_woofers_toward_a_seat(case: Case) -> None:
    spacing, angle = case.inputs["S_woofer_centres_m"], case.inputs["theta_deg"]
    highest = 1.2 * case.expected["f_null"]
    found = {
        name: brentq(lambda hz, h=height: pair(spacing, hz, angle) - h, 50.0, highest)
        for name, height in (("f_null", 0.0), ("f_m6", 0.5), ("f_m3", math.sqrt(0.5)))
    }
    case.check(**found)


@pytest.mark.parametrize("case", of("S2.mtm.xo."), ids=named)
def test_two_woofers_about_a_tweeter_at_the_crossing(case: Case) -> None:
    half, hz = case.inputs["S_m"] / 2, float(case.inputs["fc_Hz"])

    def level(family: str) -> float:
        low, high = (float_way[0] for float_way in ideal_ways(family, np.array([1.0])))
        drive = [low / 2, high, low / 2]
        there, ahead = row([-half, 0.0, half], drive, np.array([case.inputs["theta_deg"], 0.0]), hz)
        return float(db(there / ahead))

    case.check(LR4_dB=level("LR4"), BW3_dB=level("BW3"))


# --- crossovers: ideal acoustic voltages on two points in one place


def ahead(volts: Sequence[complex], hz: float = 1000.0, behind_m: Sequence[float] | None = None) -> complex:
    """Sum on axis of points in one place, over one of them at one volt; each may be set back."""
    backs = behind_m or [0.0] * len(volts)
    frequency = np.array([hz])
    points = [Diaphragm((0.0, 0.0), 0.0, POINT_M2, set_back_m=back) for back in backs]
    one = in_baffle(POINT, toward(0.0), frequency)[0, 0]
    total = sum(
        volt * in_baffle(point, toward(0.0), frequency)[0, 0]
        for volt, point in zip(volts, points, strict=True)
    )
    return complex(total / one)


@pytest.mark.parametrize("case", these("S2.xo.BW1", "S2.xo.BW2", "S2.xo.LR2", "S2.xo.LR4"), ids=named)
def test_sums_of_ideal_crossovers(case: Case) -> None:
    for printed in case.expected:
        low, high = (complex(way[0]) for way in ideal_ways(case.inputs["family"], np.array([printed["x"]])))
        for name, volts in (("low", [low]), ("high", [high]), ("sum", [low, high]), ("diff", [low, -high])):
            pressure = ahead(volts)
            if printed[f"{name}_dB"] is None:
                assert abs(pressure) < 1e-9, f"{case.id}: {name} does not vanish at {printed['x']}"
                continue
            assert off(case, float(db(pressure)), printed[f"{name}_dB"]) <= 1
            if f"{name}_phase_deg" in printed:
                assert off(case, math.degrees(np.angle(pressure)), printed[f"{name}_phase_deg"], "deg") <= 1


def group_delay_s(hz: float, corner_hz: float) -> float:
    step = 1e-3 * corner_hz
    phase = []
    for f in (hz - step, hz + step):
        low, high = (complex(way[0]) for way in ideal_ways("LR4", np.array([f / corner_hz])))
        phase.append(np.angle(ahead([low, high], abs(f)) if f > 0 else low + high))
    turn = (phase[1] - phase[0] + np.pi) % (2 * np.pi) - np.pi
    return float(-turn / (2 * np.pi * 2 * step))


@pytest.mark.parametrize("case", of("S2.xo.LR4.gd0"), ids=named)
def test_group_delay_of_a_summed_crossover(case: Case) -> None:
    corner = float(case.inputs["fc_Hz"])
    case.check(
        gd0_ms=1000 * group_delay_s(2e-3 * corner, corner), gd_fc_ms=1000 * group_delay_s(corner, corner)
    )


@pytest.mark.parametrize("case", of("S2.xo.LR4.gdpeak"), ids=named)
def test_peak_of_group_delay(case: Case) -> None:
    peak = minimize_scalar(lambda u: -group_delay_s(1000.0 * u, 1000.0), bounds=(0.4, 0.9), method="bounded")
    case.check(gd_peak_x_w0=-peak.fun * 2 * np.pi * 1000.0)
    assert peak.x == pytest.approx(case.expected["u_peak"], rel=1e-3)  # a flat top: its place is less sure


@pytest.mark.parametrize("case", of("S2.xo.LR4.lobe."), ids=named)
def test_lobe_of_a_two_way(case: Case) -> None:
    spacing, hz = case.inputs["d_m"], float(case.inputs["fc_Hz"])
    case.check(
        dB=float(db(pair(spacing, hz, case.inputs["theta_deg"]))),
        null_deg=brentq(lambda angle: pair(spacing, hz, angle), 20.0, 40.0),
    )


@pytest.mark.parametrize("case", of("S2.xo.LR4.offset."), ids=named)
def test_one_driver_set_back(case: Case) -> None:
    back, hz = case.inputs["dl_m"], float(case.inputs["fc_Hz"])
    both = ahead([0.5, 0.5], hz, [0.0, back])
    case.check(dB=float(db(both)), phase_deg=-math.degrees(np.angle(ahead([1.0], hz, [back]))))


@pytest.mark.parametrize("case", of("S2.comb."), ids=named)
def test_comb_of_a_direct_sound_and_its_copy(case: Case) -> None:
    later, copy = case.inputs["path_diff_m"], case.inputs["g"]

    def slope(hz: float) -> float:
        """Slope of the level against frequency: zero where peaks and dips lie."""
        return abs(ahead([1.0, copy], hz + 0.05, [0.0, later])) - abs(
            ahead([1.0, copy], hz - 0.05, [0.0, later])
        )

    dip, spacing = case.expected["f_first_null"], case.expected["f_spacing"]
    first = (
        dip
        if copy == 1.0 and abs(ahead([1.0, 1.0], dip, [0.0, later])) < 1e-9
        else brentq(slope, 0.8 * dip, 1.2 * dip)
    )
    peak = brentq(slope, spacing - 0.2 * dip, spacing + 0.2 * dip)
    case.check(f_first_null=first, f_spacing=peak, peak_dB=float(db(ahead([1.0, copy], peak, [0.0, later]))))
    if case.expected["dip_dB"] is not None:
        case.check(dip_dB=float(db(ahead([1.0, copy], first, [0.0, later]))))


@pytest.mark.parametrize("case", of("S2.spl.sum"), ids=named)
def test_sums_of_levels(case: Case) -> None:
    def energy(level: float) -> Floats:
        return np.array([(20e-6 * 10 ** (level / 20)) ** 2])

    one, other = case.inputs["levels"]
    three = np.sum([energy(level) for level in case.inputs["three"]], axis=0)
    assert off(case, level_db(energy(one) + energy(other), 1.0), case.expected["incoherent"]) <= 1
    assert off(case, one + db(ahead([1.0, 1.0])), case.expected["coherent"]) <= 1
    assert off(case, level_db(three, 1.0), case.expected["three"]) <= 1


def test_every_case_is_used() -> None:
    assert set(CASES) == used
