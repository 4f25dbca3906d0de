"""What parts and amplifiers bear, against closed forms and the ways of the house."""

import numpy as np
import pytest

from forehear.ground.axes import FrequencyGrid
from forehear.parts import CapacitorPart, ResistorPart
from forehear.spine.situation import driver_results
from forehear.voice import heat_words, layout_of, listen, stress_of
from forehear.voice.amplifier import felt_resistance_ohm, load_of
from forehear.voice.goal import Goal
from forehear.voice.programme import CREST, programme_share
from forehear.voice.stress import PartStress, Stress
from rooms.attic import CANDIDATES, situation


def stressed(name: str, voltage_v: float = 10.0) -> Stress:
    solved = situation(name)
    like = listen(solved, Goal()).evaluator
    return stress_of(solved.design, solved.speaker, layout_of(solved.design), like, voltage_v)


def test_a_reactance_heats_an_amplifier_as_the_closed_form_says() -> None:
    """For 90 degrees the largest (1 - sin t)(-cos t) is 3 sqrt(3) / 4, at t = 210 degrees, where its slope is zero."""
    found = felt_resistance_ohm(np.array([6.0j, -6.0j, 6.0 + 0j]))
    expected = 6.0 * 0.25 / (3 * np.sqrt(3) / 4)
    np.testing.assert_allclose(found, [expected, expected, 6.0], rtol=1e-4)


def test_words_follow_how_hard_it_is() -> None:
    hz = np.array([100.0, 1000.0])
    said = [
        load_of(np.full(2, ohm), hz).words
        for ohm in (8.0 + 0j, 4.0 * np.exp(0.5j), 3.0 * np.exp(0.6j), 2.0 * np.exp(1j))
    ]
    assert len(set(said)) == 4
    assert said[0].startswith("easy")
    assert said[-1].startswith("very hard")


def test_programme_power_is_all_there_and_mostly_low() -> None:
    grid = FrequencyGrid.standard()
    share = programme_share(grid)
    assert share.sum() == pytest.approx(1.0)
    assert 0.5 < share[grid.frequency_hz < 500].sum() < 0.7
    assert share[grid.frequency_hz > 5000].sum() < 0.12


@pytest.mark.parametrize("name", CANDIDATES)
def test_what_parts_and_drivers_take_is_what_the_amplifier_gives(name: str) -> None:
    """Tellegen: with the impedance that the house's own network solution finds."""
    solved, found = situation(name), stressed(name)
    share = programme_share(solved.grid)
    given_w = 100.0 * float((1 / solved.network.impedance_ohm).real @ share)
    taken_w = sum(one.power_w for one in found.parts) + sum(one.power_w for one in found.drivers)
    assert taken_w == pytest.approx(given_w, rel=1e-6)


@pytest.mark.parametrize("name", CANDIDATES)
def test_excursion_is_that_of_the_house(name: str) -> None:
    """`driver_results` gives peaks of a sine of 2.83 V; the noise adds their squares, shared out over frequency."""
    solved = situation(name)
    share = programme_share(solved.grid)
    for ours, own in zip(stressed(name).drivers, driver_results(solved), strict=True):
        rms_m = own.excursion_m / 4.0 * 10.0  # per volt of rms: 4 V is the peak of 2.83 V
        assert ours.peak_m == pytest.approx(CREST * np.sqrt(rms_m**2 @ share), rel=1e-6)


def test_what_gives_out_does_so_at_the_voltage_said() -> None:
    low = stressed("stack", 5.0)
    again = stressed("stack", low.first_v)
    assert again.first_v == pytest.approx(low.first_v)
    assert again.first == low.first
    xmax = [situation("stack").design.driver[one.name].part.xmax_m or 0.0 for one in again.drivers]
    ratios = [one.peak_m / most for one, most in zip(again.drivers, xmax, strict=True)]
    assert max(ratios) <= 1 + 1e-9
    assert max(ratios) == pytest.approx(1.0) or "Xmax" not in again.first


def resistor(power_w: float, rating_w: float) -> PartStress:
    return PartStress("resistor", ResistorPart(4.7, rating_w), 1, 2, 1, 2, power_w, None, "")


def test_hot_resistors_are_told_with_their_distance_from_plastic() -> None:
    assert heat_words(resistor(0.5, 10.0)) == ""
    assert "10 mm to printed plastic" in heat_words(resistor(2.0, 10.0))
    assert "30 mm to printed plastic" in heat_words(resistor(6.0, 10.0))
    assert "over its rating" in heat_words(resistor(12.0, 10.0))
    capacitor = PartStress("c", CapacitorPart(1e-6), 1, 2, 1, 2, 50.0, None, "")
    assert heat_words(capacitor) == ""
