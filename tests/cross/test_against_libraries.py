"""Our numbers against what general-purpose libraries said; `make oracles` asks them again.

The stored files hold the libraries' versions and all that was asked.
"""

import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from forehear.judge import (
    EnergyDecay,
    clarity_c50_db,
    definition_d50,
    hearing_factor,
    speech_transmission,
)
from forehear.judge.decay import NEPERS_OF_60_DB
from forehear.room import Shoebox, first_order_paths, later_images, reflected_share, reflection_factor

DATA = Path(__file__).parent / "data"
SPEECH = tomllib.loads((DATA / "speech.toml").read_text(encoding="utf-8"))
ROOMS = tomllib.loads((DATA / "images.toml").read_text(encoding="utf-8"))["room"]
SILENCE = np.full(7, -200.0)
IMAGES_TO_ORDER_3 = 63  # (4 N^3 + 6 N^2 + 8 N + 3) / 3
Row = dict[str, Any]


@pytest.mark.parametrize("row", SPEECH["clarity"], ids=str)
def test_clarity_of_two_decays_at_once(row: Row) -> None:
    """Direct sound, both decays as bins of 10 ms until the quick one has died, then the slow one as the tail."""
    edges = np.append(0.0, np.arange(0.0, row["decay_time_s"][0] * 2, 0.01))
    fall = NEPERS_OF_60_DB / np.array(row["decay_time_s"])[:, None]
    left = np.array(row["decaying_energy"])[:, None] * np.exp(-fall * edges)
    binned = -np.diff(left.sum(axis=0))
    binned[0] = row["direct_energy"]
    decay = EnergyDecay(
        edges, np.tile(binned, (7, 1)), np.full(7, left[1, -1]), np.full(7, row["decay_time_s"][1])
    )
    assert clarity_c50_db(decay) == pytest.approx(np.full(7, row["c50_db"]), abs=1e-8)
    assert definition_d50(decay) == pytest.approx(np.full(7, row["d50"]), abs=1e-8)


@pytest.mark.parametrize("row", SPEECH["speech_transmission"], ids=str)
def test_speech_transmission_of_decaying_noise(row: Row) -> None:
    """The library hears noise through octave filters, so it is random; the mean of its seeds is held to 0.01."""
    tail = EnergyDecay(np.zeros(1), np.zeros((7, 0)), np.ones(7), np.full(7, row["decay_time_s"]))
    found = speech_transmission(tail, np.full(7, 60.0), SILENCE, with_hearing=False)
    assert len(row["index"]) >= 8
    assert float(found.index) == pytest.approx(np.mean(row["index"]), abs=0.01)


@pytest.mark.parametrize("row", SPEECH["hearing"], ids=lambda row: f"{row['level_db']:g} dB")
def test_masking_and_threshold(row: Row) -> None:
    assert hearing_factor(np.full(7, row["level_db"]), SILENCE) == pytest.approx(row["factor"], abs=1e-8)


@pytest.mark.parametrize("row", ROOMS, ids=lambda row: f"{row['size_m']}")
def test_direct_sound_and_first_reflections(row: Row) -> None:
    """Single precision in the library: seven digits."""
    room = Shoebox.uniform(tuple(row["size_m"]), row["absorption"])
    paths = first_order_paths(room, row["source_m"], row["receiver_m"])
    factor = [
        1.0 if surface < 0 else float(reflection_factor(room, surface, np.array([1000.0]))[0])
        for surface in paths.surface
    ]
    nearest = np.argsort(paths.distance_m)
    first = np.array(row["order"]) <= 1
    assert first.size == IMAGES_TO_ORDER_3
    assert paths.distance_m[nearest] == pytest.approx(np.array(row["distance_m"])[first], rel=1e-6)
    amplitude = (np.array(factor) / paths.distance_m)[nearest]
    assert amplitude == pytest.approx(np.array(row["amplitude_1_m"])[first], rel=1e-6)


@pytest.mark.parametrize("row", ROOMS, ids=lambda row: f"{row['size_m']}")
def test_images_up_to_three_reflections(row: Row) -> None:
    """All 63, as many of each order, as far away and as strong; both in single precision: 2e-6."""
    room = Shoebox.uniform(tuple(row["size_m"]), row["absorption"])
    farthest = row["distance_m"][-1] + 1e-3
    found = later_images(room, row["source_m"], row["receiver_m"], farthest, least_order=0)
    few = found.order <= 3
    distance = found.departures_m(row["source_m"])[1][few]
    nearest = np.argsort(distance)
    assert few.sum() == IMAGES_TO_ORDER_3
    assert np.bincount(found.order[few]).tolist() == np.bincount(row["order"]).tolist() == [1, 6, 18, 38]
    assert distance[nearest] == pytest.approx(row["distance_m"], rel=2e-6)
    amplitude = reflected_share(room, found.index[few], np.array([1000.0]))[:, 0] / distance
    assert amplitude[nearest] == pytest.approx(row["amplitude_1_m"], rel=2e-6)
    assert found.order[few][nearest].tolist() == row["order"]
