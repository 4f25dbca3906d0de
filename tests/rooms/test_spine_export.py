"""What outside callers rely on: the keys, their lengths, the numbers, and the two names of the package."""

import json
import math
from typing import Any

import numpy as np
import pytest

import forehear
from forehear.ground.axes import ORBIT_ANGLES_DEG
from forehear.spine import as_plain_data, compare, comparison_as_plain_data
from rooms.attic import CANDIDATES, EXAMPLE, prediction

KEYS = {
    "": {"format", "design", "frequency_hz", "curves", "orbits", "impedance", "drivers", "seats", "findings",
         "trace", "spread_among_seats_db", "bass_limit_hz", "preference", "crossings_hz", "price", "rules_of_thumb",
         "together", "room"},
    "curves": {"on_axis_db", "listening_window_db", "early_reflections_db", "sound_power_db",
               "sound_power_sphere_db", "directivity_index_db", "early_reflections_directivity_index_db",
               "estimated_in_room_db"},
    "orbits": {"horizontal", "vertical"},
    "orbit": {"angle_deg", "level_db", "phase_deg", "beamwidth_deg"},
    "impedance": {"magnitude_ohm", "phase_deg"},
    "driver": {"name", "way", "voltage_db", "voltage_deg", "excursion_mm"},
    "seat": {"placement", "name", "azimuth_deg", "elevation_deg", "distance_m", "direct_db", "in_room_db",
             "in_room", "spread_db", "direct_spread_db", "hole", "direct_hole", "causes", "c50_db", "u50_db", "sti",
             "speech", "ranges", "unsure_because"},
    "speech": {"octave_hz", "c50_db", "decay_time_s", "level_db_a", "noise_db_a", "rating"},
    "ranges": {"spread_db", "direct_spread_db", "hole_db", "direct_hole_db", "c50_db", "u50_db", "sti"},
    "finding": {"code", "level", "what", "where", "cause", "cure"},
    "trace": {"design_hash", "solver", "versions", "estimated", "bands"},
}  # fmt: skip


@pytest.fixture(scope="module", params=CANDIDATES)
def plain(request: pytest.FixtureRequest) -> dict[str, Any]:
    """The export of one candidate, through JSON and back."""
    data = as_plain_data(prediction(request.param))
    read: dict[str, Any] = json.loads(json.dumps(data, allow_nan=False))
    assert read == data
    return read


def test_the_keys_are_those_promised(plain: dict[str, Any]) -> None:
    assert plain["format"] == "forehear-prediction/1"
    assert set(plain) == KEYS[""]
    for name in ("curves", "orbits", "impedance", "trace"):
        assert set(plain[name]) == KEYS[name]
    for orbit in plain["orbits"].values():
        assert set(orbit) == KEYS["orbit"]
    for name in ("driver", "seat", "finding"):
        assert plain[f"{name}s"]
        assert all(set(item) == KEYS[name] for item in plain[f"{name}s"])
    assert plain["together"] is None  # one speaker stands there alone
    assert plain["room"] is None  # not asked for
    for seat in plain["seats"]:
        assert all(set(seat[name]) == KEYS[name] for name in ("speech", "ranges"))
        assert all(set(item) == {"what", "moves_spread_db"} for item in seat["unsure_because"])
        assert all(hole is None or set(hole) == {"db", "hz"} for hole in (seat["hole"], seat["direct_hole"]))


def test_every_list_is_as_long_as_its_axis(plain: dict[str, Any]) -> None:
    bands = len(plain["frequency_hz"])
    assert bands == 240
    curves = [*plain["curves"].values(), *plain["impedance"].values()]
    curves += [
        item[key] for item in plain["drivers"] for key in ("voltage_db", "voltage_deg", "excursion_mm")
    ]
    curves += [seat[key] for seat in plain["seats"] for key in ("direct_db", "in_room_db")]
    for orbit in plain["orbits"].values():
        assert orbit["angle_deg"] == list(ORBIT_ANGLES_DEG)
        assert len(orbit["level_db"]) == len(orbit["phase_deg"]) == len(ORBIT_ANGLES_DEG)
        curves += [*orbit["level_db"], *orbit["phase_deg"], orbit["beamwidth_deg"]]
    assert {len(curve) for curve in curves} == {bands}
    assert all(math.isfinite(value) for curve in curves for value in curve)


@pytest.mark.parametrize("name", CANDIDATES)
def test_the_numbers_are_those_of_the_prediction(name: str) -> None:
    found, plain = prediction(name), as_plain_data(prediction(name))
    assert plain["frequency_hz"] == pytest.approx(found.grid.frequency_hz, abs=1e-6)
    ahead = plain["orbits"]["horizontal"]["angle_deg"].index(0.0)
    assert plain["orbits"]["horizontal"]["level_db"][ahead] == pytest.approx(
        found.curves.on_axis_db, abs=1e-4
    )
    assert plain["orbits"]["vertical"]["level_db"][ahead] == plain["orbits"]["horizontal"]["level_db"][ahead]
    magnitude, phase = (np.array(plain["impedance"][key]) for key in ("magnitude_ohm", "phase_deg"))
    assert magnitude * np.exp(1j * np.radians(phase)) == pytest.approx(found.impedance_ohm, rel=1e-3)
    for seat, item in zip(found.seats, plain["seats"], strict=True):
        assert item["in_room_db"] == pytest.approx(seat.in_room_db, abs=1e-4)
        assert (item["hole"] is None) == (seat.hole is None)
        if seat.hole:
            assert item["hole"]["db"] == pytest.approx(-seat.hole.depth_db, abs=1e-4)
            assert item["hole"]["hz"] == pytest.approx(seat.hole.frequency_hz, abs=0.01)
        assert seat.speech is not None
        assert (item["c50_db"], item["sti"]) == pytest.approx(
            (seat.speech.c50_db, seat.speech.sti), abs=0.006
        )
        assert item["speech"]["c50_db"] == pytest.approx(seat.speech.c50_octave_db, abs=0.006)
        assert all(low <= high for low, high in item["ranges"].values())
        deepest_db, shallowest_db = item["ranges"]["hole_db"]
        assert -20 <= deepest_db <= shallowest_db <= 0
        for story in item["causes"]:
            whole = sum(story["shares_db"].values()) + story["rest_db"]
            assert whole == pytest.approx(-story["direct_hole"]["db"], abs=0.01)
    assert [item["what"] for item in plain["findings"]] == [one.what for one in found.findings]


def test_voltages_and_excursions_belong_to_what_they_drive(plain: dict[str, Any]) -> None:
    """A tweeter gets its volts high up, a woofer low down, and low notes take the way."""
    hz = np.array(plain["frequency_hz"])
    low, high = int(np.argmin(np.abs(hz - 100.0))), int(np.argmin(np.abs(hz - 8000.0)))
    for driver in plain["drivers"]:
        higher_db = driver["voltage_db"][high] - driver["voltage_db"][low]
        moves = np.array(driver["excursion_mm"])
        assert moves.min() >= 0
        if "woofer" in driver["name"]:
            assert higher_db < -10
            assert 0.05 < moves[low] < 5
        if driver["name"] == "tweeter":
            assert higher_db > 10
            assert moves.max() < 0.1


def test_the_package_has_the_way_in_its_own_name() -> None:
    design = forehear.load(EXAMPLE / "stack.yaml")
    found = forehear.predict(design)
    assert as_plain_data(found)["seats"] == as_plain_data(prediction("stack"))["seats"]
    assert found.trace.design_hash == design.design_hash
    with pytest.raises(forehear.ForehearError):
        forehear.load(EXAMPLE / "none.yaml")


def test_progress_rises_to_the_end() -> None:
    told: list[tuple[float, str]] = []
    forehear.predict(prediction("stack").design, progress=lambda share, doing: told.append((share, doing)))
    shares = [share for share, _ in told]
    assert shares == sorted(shares)
    assert shares[0] == 0.0
    assert shares[-1] == 1.0
    assert all("Stack" in doing for _, doing in told)


def test_a_comparison_holds_its_predictions_and_what_each_is_best_at() -> None:
    found = compare([prediction(name) for name in CANDIDATES])
    plain = json.loads(json.dumps(comparison_as_plain_data(found), allow_nan=False))
    assert plain["format"] == "forehear-comparison/1"
    assert [item["design"] for item in plain["predictions"]] == [
        prediction(name).design.title for name in CANDIDATES
    ]
    assert len(plain["best_at"]) == len(plain["gives_up"]) == len(CANDIDATES)
    for row in plain["table"]:
        assert len(row["values"]) == len(CANDIDATES)
        assert set(row["leaders"]) <= {0, 1, 2}
    size = next(row for row in plain["table"] if row["label"] == "size outside")
    litres = [
        1000 * math.prod((box.width_m, box.height_m, box.depth_m))
        for box in (prediction(name).design.cabinet for name in CANDIDATES)
    ]
    smallest = int(np.argmin(litres))
    assert smallest in size["leaders"]
    assert int(np.argmax(litres)) not in size["leaders"]
    for index, words in enumerate(plain["best_at"]):
        assert (index in size["leaders"]) == any(sentence.startswith("small:") for sentence in words)


def test_alone_a_candidate_is_best_at_nothing() -> None:
    found = compare([prediction("twin")])
    assert found.strengths == ((),)
    assert found.costs == ((),)
    assert all(row.leaders == () for row in found.table)
