"""Laws of clarity, speech transmission, levels of speech and just-noticeable steps."""

from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from forehear.ground.arrays import FloatArray
from forehear.judge import (
    C50_STEP,
    SPREAD_STEP,
    STI_STEP,
    EnergyDecay,
    Noticeable,
    a_weighted_level_db,
    c50_single_db,
    clarity_c50_db,
    definition_d50,
    difference_words,
    hearing_factor,
    index_of_octaves,
    modulation_transfer,
    noise_levels_db,
    rank_groups,
    rating_word,
    speech_levels_db,
    speech_transmission,
    useful_to_detrimental_u50_db,
)

EDGES_S = np.array([0.0, 0.0, 0.004, 0.03, 0.07, 0.11, 0.3])
ENERGIES = arrays(float, (7, 6), elements=st.floats(1e-3, 1.0))  # so that no ratio meets the cap of 40 dB
OCTAVES = arrays(float, 7, elements=st.floats(1e-3, 1.0))
TIMES_S = arrays(float, 7, elements=st.floats(0.1, 3.0))
LEVELS = arrays(float, 7, elements=st.floats(20.0, 75.0))
MORE_DB = arrays(float, 7, elements=st.floats(0.0, 20.0))
SPEECH, SILENCE = speech_levels_db(60.0), np.full(7, -200.0)
DECAYS = st.builds(EnergyDecay, st.just(EDGES_S), ENERGIES, OCTAVES, TIMES_S)


def _refined(decay: EnergyDecay, cuts: list[float]) -> EnergyDecay:
    """The same energy in finer bins; a bin of no width cannot be cut."""
    edges, energy = list(decay.edges_s), [decay.energy[:, place] for place in range(decay.energy.shape[1])]
    for place in reversed(range(len(energy))):
        cut = cuts[place % len(cuts)]
        start, end = edges[place : place + 2]
        edges.insert(place + 1, start + cut * (end - start))
        energy[place : place + 1] = [cut * energy[place], (1 - cut) * energy[place]]
    return EnergyDecay(np.array(edges), np.stack(energy, axis=1), decay.tail_energy, decay.decay_time_s)


def _later_tail(tail: EnergyDecay, from_s: float, width_s: float) -> EnergyDecay:
    """A decay that is a tail only, as bins up to a later time and the rest of the tail after them."""
    count = round(from_s / width_s)
    edges = np.arange(count + 1) * width_s
    left = np.stack([tail.split(edge)[1] for edge in edges], axis=1)
    left[:, 0] = tail.tail_energy
    return EnergyDecay(edges, -np.diff(left, axis=1), left[:, -1], tail.decay_time_s)


@given(DECAYS, OCTAVES)
def test_more_late_energy_is_less_clear(decay: EnergyDecay, more: FloatArray) -> None:
    energy = decay.energy.copy()
    energy[:, -1] += more
    worse = EnergyDecay(EDGES_S, energy, decay.tail_energy, decay.decay_time_s)
    assert np.all(clarity_c50_db(worse) < clarity_c50_db(decay))
    assert np.all(definition_d50(worse) < definition_d50(decay))


@given(DECAYS)
def test_definition_and_clarity_say_the_same(decay: EnergyDecay) -> None:
    share = definition_d50(decay)
    assert clarity_c50_db(decay) == pytest.approx(10 * np.log10(share / (1 - share)), abs=1e-6)


@given(DECAYS, LEVELS, LEVELS, MORE_DB)
def test_noise_harms(decay: EnergyDecay, speech: FloatArray, noise: FloatArray, more: FloatArray) -> None:
    """Octave by octave; the index itself may rise when one octave gets worse alone (see below)."""
    quiet = useful_to_detrimental_u50_db(decay, speech, noise)
    loud = useful_to_detrimental_u50_db(decay, speech, noise + more)
    assert np.all(loud <= quiet + 1e-9)
    assert np.all(quiet <= clarity_c50_db(decay) + 1e-9)
    octaves = [
        speech_transmission(decay, speech, level, with_hearing=with_hearing).octave_index
        for level in (noise, noise + more)
        for with_hearing in (False, True)
    ]
    assert np.all(octaves[2] <= octaves[0] + 1e-9)
    assert np.all(octaves[3] <= octaves[1] + 1e-9)
    assert np.all(octaves[1] <= octaves[0] + 1e-9)


@given(st.floats(0.1, 3.0), st.floats(-14.0, 13.0), st.floats(0.5, 10.0))
def test_noise_alike_in_all_octaves_lowers_the_index(time_s: float, signal_db: float, more_db: float) -> None:
    tail = EnergyDecay(np.zeros(1), np.zeros((7, 0)), np.ones(7), np.full(7, time_s))
    quiet, loud = (
        speech_transmission(tail, np.full(7, 60.0), np.full(7, 60.0 - over_db)).index
        for over_db in (signal_db, signal_db - more_db)
    )
    assert loud < quiet


def test_the_index_is_not_monotone_in_one_octave() -> None:
    """What the formula of the standard gives: the 250 Hz octave lost wholly beats it kept badly."""
    octaves = np.ones(7)
    lost, bad = (np.where(np.arange(7) == 1, value, octaves) for value in (0.0, 0.1))
    assert index_of_octaves(bad) < index_of_octaves(lost)


@given(arrays(float, (5, 7), elements=st.floats(0.0, 1.0)))
def test_the_index_stays_between_none_and_all(octaves: FloatArray) -> None:
    index = index_of_octaves(octaves)
    assert index.shape == (5,)
    assert np.all((index >= -1e-12) & (index <= 1))


@given(DECAYS, st.lists(st.floats(0.05, 0.95), min_size=1, max_size=6))
def test_finer_bins_say_the_same(decay: EnergyDecay, cuts: list[float]) -> None:
    finer = _refined(decay, cuts)
    assert clarity_c50_db(finer) == pytest.approx(clarity_c50_db(decay), abs=1e-9)
    assert modulation_transfer(finer) == pytest.approx(modulation_transfer(decay), abs=1e-9)


@given(TIMES_S, st.sampled_from([0.02, 0.05, 0.08, 0.2]))
def test_a_tail_may_begin_later(times_s: FloatArray, from_s: float) -> None:
    tail = EnergyDecay(np.zeros(1), np.zeros((7, 0)), np.ones(7), times_s)
    later = _later_tail(tail, from_s, 0.0005)
    assert clarity_c50_db(later) == pytest.approx(clarity_c50_db(tail), abs=1e-6)
    assert modulation_transfer(later) == pytest.approx(modulation_transfer(tail), abs=1e-4)


@given(DECAYS, st.floats(1e-3, 1e3))
def test_the_unit_of_energy_does_not_matter(decay: EnergyDecay, gain: float) -> None:
    louder = EnergyDecay(EDGES_S, gain * decay.energy, gain * decay.tail_energy, decay.decay_time_s)
    assert clarity_c50_db(louder) == pytest.approx(clarity_c50_db(decay), abs=1e-9)
    assert modulation_transfer(louder) == pytest.approx(modulation_transfer(decay), abs=1e-9)


@given(ENERGIES, st.floats(0.0, 5.0))
@example(np.ones((7, 6)), 0.05)
def test_what_comes_at_one_instant_keeps_its_swing(energy: FloatArray, at_s: float) -> None:
    """And 50 ms of anything flat in time lose by the sinc alone."""
    instant = EnergyDecay(np.full(2, at_s), energy[:, :1], np.zeros(7), np.ones(7))
    assert modulation_transfer(instant) == pytest.approx(np.ones((7, 14)), abs=1e-9)
    assert np.all(clarity_c50_db(instant) == (40.0 if at_s <= 0.05 else -40.0))


def test_a_place_without_late_sound_has_a_number() -> None:
    dry = EnergyDecay(np.zeros(2), np.ones((7, 1)), np.zeros(7), np.ones(7))
    assert np.all(clarity_c50_db(dry) == 40.0)
    assert np.all(useful_to_detrimental_u50_db(dry, SPEECH, SILENCE) == 40.0)
    assert np.all(useful_to_detrimental_u50_db(dry, SPEECH, SPEECH + 90.0) == -40.0)
    assert speech_transmission(dry, SPEECH, SILENCE, with_hearing=False).index == pytest.approx(1.0)


def test_a_straddling_bin_is_shared_linearly() -> None:
    bin_about_50_ms = EnergyDecay(np.array([0.04, 0.08]), np.ones((7, 1)), np.zeros(7), np.ones(7))
    assert definition_d50(bin_about_50_ms) == pytest.approx(np.full(7, 0.25))


@given(DECAYS, DECAYS)
def test_seats_are_judged_each_for_itself(one: EnergyDecay, other: EnergyDecay) -> None:
    other = EnergyDecay(EDGES_S, other.energy, other.tail_energy, one.decay_time_s)
    both = EnergyDecay(
        EDGES_S,
        np.stack([one.energy, other.energy]),
        np.stack([one.tail_energy, other.tail_energy]),
        one.decay_time_s,
    )
    judged = speech_transmission(both, SPEECH, np.stack([SILENCE, SPEECH]))
    for place, (decay, noise) in enumerate([(one, SILENCE), (other, SPEECH)]):
        alone = speech_transmission(decay, SPEECH, noise)
        assert judged.index[place] == pytest.approx(float(alone.index), abs=1e-12)
        assert judged.octave_index[place] == pytest.approx(alone.octave_index, abs=1e-12)
        single = c50_single_db(clarity_c50_db(both))[place]
        assert single == pytest.approx(clarity_c50_db(decay)[2:6].mean())


WRONG: dict[str, Callable[[], object]] = {
    "never fall": lambda: EnergyDecay(np.array([0.1, 0.0]), np.ones((7, 1)), np.ones(7), np.ones(7)),
    "edges of bins": lambda: EnergyDecay(np.array([0.0, np.inf]), np.ones((7, 1)), np.ones(7), np.ones(7)),
    "edges of bins start": lambda: EnergyDecay(np.zeros(0), np.ones((7, 0)), np.ones(7), np.ones(7)),
    "0 s or later": lambda: EnergyDecay(np.array([-0.1, 0.0]), np.ones((7, 1)), np.ones(7), np.ones(7)),
    "energy has shape": lambda: EnergyDecay(np.zeros(2), np.ones((8, 1)), np.ones(8), np.ones(8)),
    "tail_energy has shape": lambda: EnergyDecay(np.zeros(2), np.ones((7, 1)), np.ones(1), np.ones(7)),
    "decay time above": lambda: EnergyDecay(np.zeros(2), np.ones((7, 1)), np.ones(7), np.zeros(7)),
    "zero or more": lambda: EnergyDecay(np.zeros(2), -np.ones((7, 1)), np.ones(7), np.ones(7)),
    "silence has no clarity": lambda: EnergyDecay(np.zeros(2), np.zeros((7, 1)), np.zeros(7), np.ones(7)),
    "seven octaves": lambda: c50_single_db(np.zeros(8)),
    "seven octaves from 125": lambda: a_weighted_level_db(np.zeros(8)),
    "seven octaves from 125 Hz": lambda: index_of_octaves(np.zeros(8)),
    "above zero": lambda: Noticeable(0.0, "own-definition"),
}


@pytest.mark.parametrize("said", WRONG)
def test_what_makes_no_sense_is_refused(said: str) -> None:
    with pytest.raises(ValueError, match=said):
        WRONG[said]()


def test_hearing_at_the_ends() -> None:
    """Too soft is not heard; a band far louder than the next masks it."""
    assert np.all(hearing_factor(np.full(7, -30.0), SILENCE) < 0.01)
    loud_below = np.array([90.0, 50.0, 50.0, 50.0, 50.0, 50.0, 50.0])
    assert hearing_factor(loud_below, SILENCE)[1] < 0.2
    assert hearing_factor(loud_below, SILENCE)[3] > 0.99
    # IEC 60268-16, from memory: above 100 dB the next octave is masked at -10 dB.
    assert hearing_factor(np.full(7, 110.0), SILENCE)[1:] == pytest.approx(np.full(6, 1 / 1.1))


@given(LEVELS, LEVELS)
def test_noise_masks_as_speech_does(speech: FloatArray, noise: FloatArray) -> None:
    assert hearing_factor(speech, noise) == pytest.approx(hearing_factor(noise, speech), abs=1e-12)


@given(st.floats(20.0, 100.0))
def test_levels_have_the_a_weighted_level_they_are_made_for(overall_db: float) -> None:
    """Exactly for noise; the printed spectrum of speech is rounded to 0.1 dB."""
    assert a_weighted_level_db(noise_levels_db(overall_db)) == pytest.approx(overall_db)
    assert a_weighted_level_db(noise_levels_db(overall_db, [0.0] * 7)) == pytest.approx(overall_db)
    assert a_weighted_level_db(speech_levels_db(overall_db)) == pytest.approx(overall_db, abs=0.1)


@pytest.mark.parametrize(
    ("index", "word"),
    [(0.0, "bad"), (0.2999, "bad"), (0.3, "poor"), (0.45, "fair"), (0.6, "good"), (0.75, "excellent")],
)
def test_rating(index: float, word: str) -> None:
    assert rating_word(index) == word


@pytest.mark.parametrize(
    ("value_a", "value_b", "step", "words"),
    [
        (10.0, 11.0, C50_STEP, "no difference you could hear"),
        (10.0, 11.1, C50_STEP, "1 dB lower"),
        (0.53, 0.50, STI_STEP, "0.03 higher"),
        (0.529, 0.50, STI_STEP, "no difference you could hear"),
        (4.0, 1.4, SPREAD_STEP, "3 dB higher"),
    ],
)
def test_differences_in_words(value_a: float, value_b: float, step: Noticeable, words: str) -> None:
    assert difference_words(value_a, value_b, step) == words


@given(st.lists(st.floats(-20.0, 20.0), max_size=12), st.sampled_from([C50_STEP, STI_STEP, SPREAD_STEP]))
def test_groups_of_equals(values: list[float], step: Noticeable) -> None:
    groups = rank_groups(values, step)
    assert sorted(place for group in groups for place in group) == list(range(len(values)))
    tops = [max(values[place] for place in group) for group in groups]
    for top, group in zip(tops, groups, strict=True):
        assert not any(step.tells_apart(values[place], top) for place in group)
    for top, next_group in zip(tops, groups[1:], strict=False):
        assert all(step.tells_apart(values[place], top) and values[place] < top for place in next_group)
    assert rank_groups([-value for value in values], step, lower_is_better=True) == groups


def test_a_chain_of_near_equals_is_cut_at_the_best_of_each_group() -> None:
    assert rank_groups([3.0, 2.4, 1.8, 1.2], SPREAD_STEP, lower_is_better=True) == ((2, 3), (0, 1))
