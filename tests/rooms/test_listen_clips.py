"""Clips: the bundled ones, and every kind of file that a user may bring, right and wrong."""

import io
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from forehear.ground.errors import DataError
from forehear.listen import RATE_HZ, bundled_clip, clips, decode_clip, find_clip, loudness_lufs, read_clip

Floats = NDArray[np.float64]


def sine(seconds: float, rate_hz: int, channels: int = 1, hz: float = 440.0) -> Floats:
    wave = 0.5 * np.sin(2 * np.pi * hz * np.arange(round(seconds * rate_hz)) / rate_hz)
    return np.repeat(wave[:, np.newaxis], channels, axis=1)


def stored(sound: Floats, rate_hz: int, subtype: str = "PCM_16", kind: str = "WAV") -> bytes:
    written = io.BytesIO()
    soundfile.write(written, sound, rate_hz, format=kind, subtype=subtype)
    return written.getvalue()


@pytest.mark.parametrize("name", clips())
def test_a_bundled_clip_can_be_played_and_says_where_it_is_from(name: str) -> None:
    clip = bundled_clip(name)
    assert clip.sound.shape[0] == 1
    assert 5.0 < clip.seconds < 12.0
    assert np.abs(clip.sound).max() < 0.99
    assert -40.0 < loudness_lufs(clip.sound) < -10.0
    assert clip.origin
    assert not clip.notes
    assert np.array_equal(clip.sound, bundled_clip(name).sound)
    assert np.abs(clip.sound[0, [0, -1]]).max() < 0.01  # no click at its ends


def test_pink_noise_has_as_much_in_every_octave() -> None:
    noise = bundled_clip("pink noise").sound[0]
    power, hz = np.abs(np.fft.rfft(noise)) ** 2, np.fft.rfftfreq(noise.size, 1 / RATE_HZ)
    octaves = [power[(hz >= low) & (hz < 2 * low)].sum() for low in 62.5 * 2.0 ** np.arange(7)]
    assert 10 * np.log10(np.array(octaves) / np.mean(octaves)) == pytest.approx(0.0, abs=0.2)


def test_bundled_files_are_small() -> None:
    import forehear.listen.clip as home

    sizes = [path.stat().st_size for path in home.FOLDER.iterdir()]
    assert sizes
    assert max(sizes) < 150_000
    assert sum(sizes) < 500_000


@pytest.mark.parametrize(
    ("rate_hz", "subtype", "kind"),
    [
        (8_000, "PCM_U8", "WAV"),
        (22_050, "PCM_16", "FLAC"),
        (44_100, "PCM_24", "FLAC"),
        (48_000, "FLOAT", "WAV"),
        (96_000, "PCM_32", "WAV"),
        (192_000, "PCM_24", "WAV"),
        (37_800, "PCM_16", "WAV"),
    ],
)
@pytest.mark.parametrize("channels", [1, 2])
def test_a_file_of_any_rate_comes_out_the_same(rate_hz: int, subtype: str, kind: str, channels: int) -> None:
    clip = decode_clip(stored(sine(1.0, rate_hz, channels), rate_hz, subtype, kind), "mine.wav")
    assert clip.sound.shape == (channels, pytest.approx(RATE_HZ, abs=2))
    wanted = sine(1.0, RATE_HZ)[:, 0]
    inside = slice(2000, -2000)
    for channel in clip.sound:
        assert channel[: wanted.size][inside] == pytest.approx(wanted[: channel.size][inside], abs=0.012)
    assert clip.notes == ()
    assert "mine.wav" in clip.origin


def clipped(seconds: float = 1.0) -> Floats:
    return np.clip(4.0 * sine(seconds, RATE_HZ), -1.0, 1.0)


def test_a_clipped_file_says_how_often() -> None:
    (note,) = decode_clip(stored(clipped(), RATE_HZ), "loud.wav").notes
    assert "clipped in 880 places" in note  # twice a period of 440 Hz for a second
    assert decode_clip(stored(0.999 * 2 * sine(1.0, RATE_HZ), RATE_HZ), "full.wav").notes == ()


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "no sound that can be read"),
        (b"title: a brief\n", "no sound that can be read"),
        (stored(sine(1.0, RATE_HZ), RATE_HZ)[:30], "no sound that can be read"),
        (stored(np.zeros((RATE_HZ, 1)), RATE_HZ), "silent"),
        (stored(1e-5 * sine(1.0, RATE_HZ), RATE_HZ, "FLOAT"), "silent"),
        (stored(sine(0.3, RATE_HZ), RATE_HZ), "lasts 0.30 s, and at least 0.4 s"),
        (stored(sine(0.0, RATE_HZ), RATE_HZ), "lasts 0.00 s"),
        (stored(sine(61.0, 8_000), 8_000), "lasts 61 s, and up to 60 s"),
        (stored(sine(1.0, RATE_HZ, 6), RATE_HZ), "6 channels"),
        (stored(sine(1.0, 4_000), 4_000), "4000 samples a second"),
        (stored(np.full((RATE_HZ, 1), np.nan), RATE_HZ, "FLOAT"), "no numbers"),
    ],
    ids=[
        "empty",
        "text",
        "cut off",
        "silent",
        "nearly silent",
        "short",
        "nothing",
        "long",
        "six",
        "slow",
        "nan",
    ],
)
def test_a_file_that_cannot_be_played_is_refused_in_a_sentence(data: bytes, said: str) -> None:
    with pytest.raises(DataError) as refused:
        decode_clip(data, "mine.wav")
    assert said in refused.value.what
    assert refused.value.where == "mine.wav"
    assert refused.value.cure


def test_a_clip_is_found_by_name_or_path(tmp_path: Path) -> None:
    path = tmp_path / "own.flac"
    path.write_bytes(stored(sine(1.0, 44_100), 44_100, kind="FLAC"))
    assert find_clip(str(path)).name == "own.flac"
    assert find_clip("tones").name == "tones"
    for wrong in (str(tmp_path / "none.wav"), "musik"):
        with pytest.raises(DataError, match="neither a file nor a bundled clip"):
            find_clip(wrong)
    with pytest.raises(DataError, match="no clip called"):
        bundled_clip("musik")
    with pytest.raises(DataError, match="cannot read"):
        read_clip(tmp_path)
