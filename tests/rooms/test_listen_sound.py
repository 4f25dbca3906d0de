"""Rendered sounds: levels are matched, nothing is too loud, and what is told is what is there."""

import io
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pyloudnorm
import pytest
import soundfile
from numpy.typing import NDArray
from scipy.signal import fftconvolve, oaconvolve, resample_poly

from forehear.ground.errors import DataError
from forehear.ground.levels import level_db
from forehear.judge import SPREAD_STEP, in_room_trend, spread_db
from forehear.listen import (
    RATE_HZ,
    Clip,
    Matching,
    NoHead,
    Rendered,
    Settings,
    SphereHead,
    Stage,
    bundled_clip,
    loudness_lufs,
    render,
    settings_in,
    wav_bytes,
)
from forehear.listen.convolving import prepared
from forehear.spine.through import looking
from rooms.attic import CANDIDATES, candidate, copied, situation

Floats = NDArray[np.float64]
SEATS = ("sofa middle", "armchair")
NOISE = bundled_clip("pink noise")
MEASURED = ("trio", "armchair", 3)  # candidate, seat, its place


@lru_cache
def together(matching: Matching) -> tuple[Rendered, ...]:
    designs = [candidate(name) for name in CANDIDATES]
    return render(designs, SEATS, bundled_clip("percussion"), Settings(matching=matching))


@lru_cache
def read_back(head: NoHead | SphereHead) -> Floats:
    """Both ears of one candidate at one seat out of a WAV file, with the clip's spectrum taken out, [ear, sample]."""
    name, seat, _ = MEASURED
    (rendered,) = render([candidate(name)], [seat], NOISE, Settings(head=head))
    sound, rate_hz = soundfile.read(io.BytesIO(wav_bytes(rendered)))
    assert rate_hz == RATE_HZ
    points = 2 ** int(np.ceil(np.log2(len(sound) + NOISE.sound.shape[1])))
    played = np.fft.rfft(NOISE.sound[0], points)
    floor = 1e-6 * np.abs(played).max() ** 2
    responses = np.fft.irfft(
        np.fft.rfft(sound.T, points) * played.conj() / (np.abs(played) ** 2 + floor), points
    )
    return responses[:, :RATE_HZ]


def apart(found: NDArray[Any], wanted: NDArray[Any]) -> float:
    """Largest difference, as a share of the largest value."""
    return float(np.abs(found - wanted).max() / np.abs(wanted).max())


def test_the_spread_measured_in_the_file_is_that_of_the_page() -> None:
    """Smoothed by the ear, within the step that it is compared by; bands and clarity are held to the page elsewhere."""
    found = situation(MEASURED[0])
    grid, seat = found.grid, found.seats[MEASURED[2]]
    power = np.abs(np.fft.rfft(read_back(NoHead())[0])) ** 2
    hz = np.arange(power.size, dtype=float)
    summed = np.concatenate([[0.0], np.cumsum(power)])
    energy = np.diff(np.interp(grid.edges_hz, np.append(hz - 0.5, hz[-1] + 0.5), summed)) / np.diff(
        grid.edges_hz
    )
    measured_db = level_db(found.smoothing.smooth(energy))
    spread = spread_db(measured_db, in_room_trend(measured_db, grid, None), grid)
    assert spread == pytest.approx(seat.spread_db, abs=SPREAD_STEP.step / 4)


def meter(sound: Floats) -> float:
    """Loudness by pyloudnorm, one channel."""
    return float(pyloudnorm.Meter(RATE_HZ, filter_class="DeMan").integrated_loudness(sound))


def heard_levels(matching: Matching) -> Floats:
    """Loudness of the middle without the head, measured in files that hold it, [candidate, seat]."""
    designs = [candidate(name) for name in CANDIDATES]
    clip = bundled_clip("percussion")
    rendered = render(designs, SEATS, clip, Settings(NoHead(), matching))
    return np.array([meter(each.sound[0]) for each in rendered]).reshape(len(designs), len(SEATS))


def test_candidates_are_matched_at_a_seat_and_seats_keep_their_level() -> None:
    true, matched = heard_levels(Matching.NOTHING), heard_levels(Matching.CANDIDATES)
    assert np.ptp(true, axis=0).min() > 0.3  # they differ before
    assert np.ptp(matched, axis=0).max() < 0.1
    assert np.diff(matched[0]) == pytest.approx(np.diff(true.mean(axis=0)), abs=0.05)
    assert np.ptp(heard_levels(Matching.EVERYTHING)) < 0.1


def test_levels_told_are_those_measured() -> None:
    for rendered, without in zip(
        together(Matching.CANDIDATES), heard_levels(Matching.CANDIDATES).ravel(), strict=True
    ):
        told = rendered.level
        finer = np.abs(resample_poly(rendered.sound, 8, 1, axis=1)).max()
        assert told.true_peak_dbfs == pytest.approx(20 * np.log10(finer), abs=0.1)
        assert told.loudness_lufs == pytest.approx(
            without, abs=0.05
        )  # fixed without the head, whichever head it is


@pytest.mark.parametrize("matching", Matching)
def test_nothing_is_louder_than_it_may_be(matching: Matching) -> None:
    for rendered in together(matching):
        assert 20 * np.log10(np.abs(resample_poly(rendered.sound, 8, 1, axis=1)).max()) < -1.0
        assert rendered.level.loudness_lufs < -25.9


def test_one_sharp_click_lowers_everything_together() -> None:
    """A click is so much louder at its top than on average that the peak decides: all keep one gain."""
    click = np.full((1, RATE_HZ), 1e-4, dtype=np.float32) * np.random.default_rng(1).standard_normal(RATE_HZ)
    click[0, 1000] = 1.0
    rendered = render([candidate("twin")], SEATS, Clip("click", click.astype(np.float32), "a click"))
    peaks = [20 * np.log10(np.abs(resample_poly(each.sound, 8, 1, axis=1)).max()) for each in rendered]
    assert max(peaks) == pytest.approx(-1.1, abs=0.1)
    assert len({each.level.common_db for each in rendered}) == 1


def test_all_sounds_of_one_call_are_as_long_and_repeat() -> None:
    sounds = [each.sound for each in together(Matching.CANDIDATES)]
    assert len({sound.shape for sound in sounds}) == 1
    again = render([candidate("twin")], ["armchair"], NOISE)[0]
    assert np.array_equal(again.sound, render([candidate("twin")], ["armchair"], NOISE)[0].sound)


def test_what_is_modelled_and_what_is_not_stands_beside_every_sound() -> None:
    (rendered,) = render([candidate("twin")], ["armchair"], NOISE, Settings(NoHead()))
    assert any("both ears hear what a small microphone hears" in words for words in rendered.modelled)
    assert any("C50 are told without the head" in words for words in rendered.modelled)
    assert any("headphones" in words for words in rendered.left_out)
    assert any("furniture" in words for words in rendered.left_out)
    assert "x 0.55 m, y 2.10 m" in rendered.told["looks at"]


def test_settings_are_read_back_out_of_the_file(tmp_path: Path) -> None:
    rendered = together(Matching.CANDIDATES)[0]
    path = tmp_path / "one.wav"
    path.write_bytes(wav_bytes(rendered))
    assert settings_in(path) == {name: value[:120] for name, value in rendered.told.items()}
    info = soundfile.info(path)
    assert (info.samplerate, info.channels, info.subtype) == (RATE_HZ, 2, "PCM_24")
    sound, _ = soundfile.read(path)
    assert np.abs(sound.T - rendered.sound).max() < 2**-22


def test_a_file_told_nothing_gives_nothing_away() -> None:
    """As many bytes for every candidate, and no name in them."""
    files = [wav_bytes(each, told=False) for each in together(Matching.CANDIDATES)]
    assert len({len(data) for data in files}) == 1
    assert len({data[:44] for data in files}) == 1
    assert not any(
        each.candidate.encode() in data for each in together(Matching.CANDIDATES) for data in files
    )


@pytest.mark.parametrize("channels", [1, 2])
@pytest.mark.parametrize("samples", [7, 5_000, 40_000])
def test_blocks_convolve_as_scipy_does(channels: int, samples: int) -> None:
    random = np.random.default_rng(samples)
    sound = random.standard_normal((channels, samples)).astype(np.float32)
    response = random.standard_normal((channels, 1_000)).astype(np.float32)
    wanted = sum(oaconvolve(one, other) for one, other in zip(sound, response, strict=True))
    found = prepared(sound, 1_000).through(response)
    assert apart(found, wanted) < 1e-5
    with pytest.raises(ValueError, match="were prepared for"):
        prepared(sound, 999).through(response)


def of_two(folder: Path) -> Path:
    """The example with a second placement of the candidate itself, to the right of the first."""
    copied(folder)
    brief = folder / "brief.yaml"
    text = brief.read_text(encoding="utf-8")
    place = "  centre: {position: [0.55 m, 2.10 m, 0.62 m], turn: 0 deg, tilt: 7 deg}\n"
    assert place in text
    left, right = (
        place.replace("centre", name).replace("2.10", y) for name, y in (("left", "1.2"), ("right", "3.0"))
    )
    brief.write_text(text.replace(place, left + right), encoding="utf-8")
    return folder / "twin.yaml"


def test_a_pair_plays_one_channel_each(tmp_path: Path) -> None:
    from forehear.design import load

    design = load(of_two(tmp_path / "attic"))
    noise = NOISE.sound[0][: 2 * RATE_HZ]
    silence = np.zeros_like(noise)
    alone = Settings(NoHead(), Matching.NOTHING)
    left, right, both, mono = (
        render([design], ["sofa left"], Clip("x", np.array(sound), "x"), alone)[0]
        for sound in ([noise, silence], [silence, noise], [noise, noise], [noise])
    )
    plain = [
        each.sound[0] / np.float32(10 ** (each.level.common_db / 20)) for each in (left, right, both, mono)
    ]
    assert apart(plain[0] + plain[1], plain[2]) < 1e-4
    assert apart(plain[3], plain[2]) < 1e-4  # both play all of it
    correlation = [np.abs(fftconvolve(each, noise[::-1])[noise.size :][:1000]).argmax() for each in plain[:2]]
    assert correlation[0] < correlation[1]  # the left one stands nearer to the left seat
    ears = render([design], ["sofa middle"], Clip("x", np.array([noise, silence]), "x"))[0]
    assert loudness_lufs(ears.sound[:1]) > loudness_lufs(ears.sound[1:])  # heard on the left
    assert ears.told["speakers"] == "left, right"


def test_channels_that_cancel_are_refused() -> None:
    noise = NOISE.sound[0][:RATE_HZ]
    with pytest.raises(DataError, match="cancel each other"):
        render([candidate("twin")], ["armchair"], Clip("x", np.array([noise, -noise]), "x"))


def test_a_listener_looks_at_the_speakers_before_him() -> None:
    stage = Stage.of(candidate("twin"))
    assert stage.looks_at_m("armchair") == pytest.approx([0.55, 2.10, 0.62])
    middle_m = np.array([2.0, 2.0, 1.2])
    assert looking(middle_m, middle_m - [0.0, 0.0, 1.0])[:, 0] == pytest.approx([-1.0, 0.0, 0.0])
    ahead, left, up = looking(middle_m, np.array([0.0, 2.0, 0.3])).T
    assert (ahead.tolist(), left.tolist(), up.tolist()) == ([-1, 0, 0], [0, -1, 0], [0, 0, 1])


def test_seats_of_one_call_share_a_solver_and_a_stranger_seat_is_refused() -> None:
    assert {each.told["solver"] for each in together(Matching.CANDIDATES)} == {"instant"}
    with pytest.raises(DataError, match="no seat called 'balcony'"):
        render([candidate("twin")], ["armchair", "balcony"], NOISE)
