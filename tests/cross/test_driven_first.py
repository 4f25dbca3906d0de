"""Sources driven before their energy is taken, against energies as forms that any network may drive."""

from dataclasses import replace

import numpy as np
import pytest

from forehear.ground.arrays import FloatArray
from forehear.ground.axes import FrequencyGrid
from forehear.room import (
    NODES,
    Averages,
    Losses,
    averages_between,
    band_means_of,
    diffuse_between,
    driven_band_means_of,
    energy_between,
    few_arrivals_sum,
    specular_between,
)
from forehear.spine.hearing import judge_seat, sound_at_seats, speech_at
from forehear.spine.reverberation import FULL, QUICK, Reverberation
from forehear.spine.situation import Situation
from forehear.spine.translate import programme_of
from forehear.spine.trial import Trial
from rooms.attic import HEARING, situation

ROUNDING_DB = 1e-3  # single precision, in sums of a few hundred images


@pytest.mark.parametrize("name", ["twin", "stack", "trio"])
@pytest.mark.parametrize("turn_deg", [0.0, -40.0])
def test_trying_says_what_judging_every_seat_says(name: str, turn_deg: float) -> None:
    found, slope = situation(name), None
    (pose,) = found.scene.poses
    turned = replace(pose, turn_rad=pose.turn_rad + float(np.radians(turn_deg)))
    room = Reverberation(found.speaker, turned, found.scene.shoebox, QUICK)
    trial = Trial(room, found.speaker.source_velocity(found.network.voltage), ears_m(found))
    sounds = sound_at_seats(room, found.scene.ears)
    voltage, programme = found.network.voltage, programme_of(found.design.brief)
    seats = [judge_seat(sound, voltage, HEARING.quick(), slope) for sound in sounds]
    assert trial.spreads_db(HEARING, slope) == pytest.approx(
        [seat.spread_db for seat in seats], abs=ROUNDING_DB
    )
    assert trial.direct_spreads_db(HEARING) == pytest.approx(
        [seat.direct_spread_db for seat in seats], abs=1e-9
    )
    assert trial.c50_db() == pytest.approx(
        [speech_at(sound, voltage, programme).c50_db for sound in sounds], abs=ROUNDING_DB
    )


def test_a_trial_does_not_pretend_to_hear_modes() -> None:
    found = situation("twin")
    room = Reverberation(found.speaker, found.scene.poses[0], found.scene.shoebox, FULL)
    with pytest.raises(ValueError, match="modes"):
        Trial(room, found.speaker.source_velocity(found.network.voltage), ears_m(found))


def ears_m(found: Situation) -> FloatArray:
    return np.array([ear.position_m for ear in found.scene.ears])


def test_driven_means_are_the_driven_form_of_the_means_of_all_pairs() -> None:
    random, bands = np.random.default_rng(5), FrequencyGrid.standard()
    parts, grid = bands.split(2), QUICK.grid
    response = random.normal(size=(3, grid.frequency_hz.size, 2)).view(complex)[..., 0].astype(np.complex64)
    velocity = random.normal(size=(3, len(bands), 2)).view(complex)[..., 0]
    pairs = band_means_of(response.conj()[:, None] * response, grid, parts.edges_hz)
    held = np.repeat(velocity, 2, axis=-1)
    expected = np.einsum("sp,stp,tp->p", held.conj(), pairs, held).real
    np.testing.assert_allclose(
        driven_band_means_of(response, velocity, (bands, parts), grid), expected, rtol=1e-4, atol=1e-4
    )


def test_few_arrivals_of_several_sources_are_summed_as_one_by_one() -> None:
    random, bands = np.random.default_rng(6), FrequencyGrid.standard()
    amplitude = random.normal(size=(2, 3, 7, len(bands)))
    time_s = random.uniform(0.001, 0.05, size=(2, 3, 7))
    together = few_arrivals_sum(amplitude.astype(complex), time_s, bands, FULL.grid)
    for row in np.ndindex(2, 3):
        alone = few_arrivals_sum(amplitude[row].astype(complex), time_s[row], bands, FULL.grid)
        np.testing.assert_array_equal(together[row], alone)


def test_averages_are_the_forms_of_one_driven_source() -> None:
    random, nodes = np.random.default_rng(7), len(NODES)
    pressure = random.normal(size=(2, 5, nodes, 2)).view(complex)[..., 0]
    velocity = random.normal(size=(2, nodes, 2)).view(complex)[..., 0]
    weight, loss = np.full(5, 0.2), random.uniform(0.05, 0.3, size=(5, nodes))
    lost = Losses(loss, 0.3 * loss, loss.mean(axis=0))
    edges_m = np.array([0.0, 2.0, 10.0, np.inf])
    strength = np.abs(np.einsum("sdn,sn->dn", pressure, velocity)) ** 2
    averages: Averages = averages_between(weight, lost, 50.0, edges_m)
    both = zip(averages.driven(strength), energy_between(strength, weight, lost, 50.0, edges_m), strict=True)
    forms = (find(pressure, weight, lost, 50.0, edges_m) for find in (specular_between, diffuse_between))
    for (mine, at_once), form in zip(both, forms, strict=True):
        driven = np.einsum("sn,ensl,ln->en", velocity.conj(), form, velocity).real
        np.testing.assert_allclose(mine, driven, rtol=1e-9)
        np.testing.assert_allclose(at_once, driven, rtol=1e-9)
