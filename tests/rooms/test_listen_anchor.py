"""The hidden anchor: dull above 3.5 kHz, as loud as before, its peaks limited."""

import numpy as np
import pytest

from forehear.listen import bundled_clip
from forehear.listen.anchor import anchor_of
from forehear.listen.loudness import loudness_lufs, true_peak


def test_an_anchor_is_dull_and_as_loud() -> None:
    clip = bundled_clip("pink noise").sound[:, : 3 * 48_000]
    sound = np.repeat(clip[:1], 2, axis=0) * np.float32(0.2)
    dull = anchor_of(sound)
    power = np.abs(np.fft.rfft(np.stack([sound[0], dull[0]]) * np.hanning(sound.shape[1]))) ** 2
    hz = np.fft.rfftfreq(sound.shape[1], 1 / 48_000)
    low, high = (hz > 200) & (hz < 3400), hz > 4100
    ratio_db = 10 * np.log10(power[1] / power[0])
    gain_db = float(np.median(ratio_db[low]))
    assert np.percentile(np.abs(ratio_db[low] - gain_db), 95) < 0.3
    assert 10 * np.log10(power[1, high].sum() / power[0, high].sum()) < gain_db - 50
    assert loudness_lufs(dull) == pytest.approx(loudness_lufs(sound), abs=0.1)
    assert true_peak(anchor_of(sound * np.float32(0.95 / np.abs(sound).max()))) < 10 ** (-0.9 / 20)
