"""Ranges and stories kept on disk: the same to the last bit, and never those of anything else."""

import shutil
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import forehear
from forehear.design import load
from forehear.ground.files import cache_folder
from forehear.ground.store import KeptFiles, content_key
from forehear.spine.keeping import DECIDING, MOST_BYTES, code_key, kept_ranges, kept_story
from forehear.spine.prediction import RoomStory
from forehear.spine.room_story import tell_room
from forehear.spine.situation import Situation, solve_situation
from forehear.spine.sureness import seat_ranges
from rooms.attic import EXAMPLE, HEARING, copied, situation
from rooms.refined import HEARING as REFINED
from rooms.refined import Counted


class WorkedOut(Exception):
    """Something is found anew, not read."""


def refuse(_share: float, _doing: str) -> None:
    raise WorkedOut


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A cache folder of its own, empty."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    return cache_folder() / "told"


def is_known(found: Situation) -> tuple[bool, bool]:
    """Tell whether the ranges and the story of a situation are read, not found."""
    known = []
    for kept in (kept_ranges, kept_story):
        try:
            kept(found, refuse)
            known.append(True)
        except WorkedOut:
            known.append(False)
    return known[0], known[1]


def assert_alike(one: RoomStory, other: RoomStory) -> None:
    """Two stories are the same but for rounding: what is solved together with what differs from time to time."""
    for name in ("spread_db", "direct_spread_db", "c50_db"):
        numbers = getattr(one.turning, name), getattr(other.turning, name)
        np.testing.assert_allclose(*numbers, atol=1e-6)
    for before, after in zip((*one.treated, *one.moved), (*other.treated, *other.moved), strict=True):
        assert before.doing == after.doing
        assert before.spread_db == pytest.approx(after.spread_db, abs=1e-6)
        assert before.gained_db == pytest.approx(after.gained_db, abs=1e-6)
    np.testing.assert_allclose(one.head_moved_db, other.head_moved_db, atol=1e-6)


@pytest.fixture(scope="module")
def twin_told(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache folder that holds what is told of the twin; not to be changed."""
    folder = tmp_path_factory.mktemp("told")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(folder))
        kept_ranges(situation("twin"))
        kept_story(situation("twin"))
    return folder


def test_what_is_read_is_what_was_found(cache: Path) -> None:
    twin = situation("twin")
    assert is_known(twin) == (False, False)
    assert not cache.exists()
    made = content_key(kept_ranges(twin), kept_story(twin))
    assert is_known(twin) == (True, True)
    assert content_key(kept_ranges(twin, refuse), kept_story(twin, refuse)) == made
    assert_alike(kept_story(twin, refuse), tell_room(twin))
    assert content_key(kept_ranges(twin, refuse)) == content_key(seat_ranges(twin))
    assert sum(path.stat().st_size for path in cache.iterdir()) < MOST_BYTES / 100


# what is changed: file, text there, text instead
CHANGES = {
    "a seat": ("brief.yaml", "[2.3 m, 3.55 m]", "[2.3 m, 3.551 m]"),
    "the name of a seat": ("brief.yaml", "armchair", "easy chair"),
    "an ear": ("brief.yaml", "ear height: 1.00 m", "ear height: 1.01 m"),
    "the room": ("brief.yaml", "height: 2.4 m", "height: 2.41 m"),
    "a surface": ("brief.yaml", "{made of: thin carpet}", "{absorption: 0.2}"),
    "scattering": ("brief.yaml", "height: 2.4 m}", "height: 2.4 m, scattering: 0.2}"),
    "the air": ("brief.yaml", "height: 2.4 m}", "height: 2.4 m, temperature: 21 C}"),
    "where it stands": ("brief.yaml", "[0.55 m, 2.10 m, 0.62 m]", "[0.56 m, 2.10 m, 0.62 m]"),
    "how it is turned": ("brief.yaml", "turn: 0 deg", "turn: 1 deg"),
    "the trend": ("brief.yaml", "budget: 260", "in-room slope: -1 dB/octave"),
    "the noise": ("brief.yaml", "goals:", "programme: {background noise: 40 dB}\ngoals:"),
    "the network": ("twin.yaml", "coil: 0.82 mH", "coil: 0.83 mH"),
    "polarity": ("twin.yaml", "polarity: normal", "polarity: reversed"),
    "the cabinet": ("twin.yaml", "width: 420 mm", "width: 421 mm"),
    "a box": ("twin.yaml", "closed: 13 l", "closed: 14 l"),
    "where a driver sits": ("twin.yaml", "[0 mm, 54 mm]", "[0 mm, 53 mm]"),
    "how deep it lies": ("twin.yaml", "set back: 17 mm", "set back: 18 mm"),
    "a driver": ("parts/dome-25.yaml", "Re: ", "Re: 1"),
}
CHANGES_OF_DOUBTS = {
    "how deep a driver may lie": ("twin.yaml", "uncertainty: 4 mm", "uncertainty: 5 mm"),
    "what else may be otherwise": ("brief.yaml", "goals:", "uncertainty: {position: 30 mm}\ngoals:"),
}
CHANGES_OF_WORDS = {
    "the title": ("twin.yaml", "design: Twin", "design: Pair"),
    "a price": ("twin.yaml", "price: 8.90", "price: 9.90"),
    "a comment": ("brief.yaml", "# An attic", "# The attic"),
}


@pytest.mark.parametrize(
    ("change", "known"),
    [
        *((change, (False, False)) for change in CHANGES.values()),
        *((change, (False, True)) for change in CHANGES_OF_DOUBTS.values()),
        *((change, (True, True)) for change in CHANGES_OF_WORDS.values()),
    ],
    ids=[*CHANGES, *CHANGES_OF_DOUBTS, *CHANGES_OF_WORDS],
)
def test_whatever_decides_a_number_is_asked_for(
    change: tuple[str, str, str],
    known: tuple[bool, bool],
    twin_told: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(twin_told))
    assert is_known(situation("twin")) == (True, True)
    file, before, after = change
    path = copied(tmp_path / "copy") / file
    text = path.read_text(encoding="utf-8")
    assert before in text
    path.write_text(text.replace(before, after), encoding="utf-8")
    assert is_known(solve_situation(load(tmp_path / "copy" / "twin.yaml"), HEARING)) == known


def test_what_another_solver_says_is_another_answer(solved: Counted) -> None:
    instant = replace(situation("twin"), seats=solve_situation(load(EXAMPLE / "twin.yaml"), HEARING).seats)
    kept_ranges(instant)
    kept_story(instant)
    assert is_known(instant) == (True, True)
    assert is_known(solve_situation(load(EXAMPLE / "twin.yaml"), REFINED)) == (False, False)
    assert solved.bands == 0


def test_other_code_is_another_key(tmp_path: Path) -> None:
    for room in (*DECIDING, "publish"):
        (tmp_path / room).mkdir()
        (tmp_path / room / "law.py").write_text("STEP = 1\n")
    (before, same), other = (code_key.__wrapped__(tmp_path) for _ in range(2)), []
    assert before == same
    (tmp_path / "publish" / "law.py").write_text("STEP = 2\n")
    assert code_key.__wrapped__(tmp_path) == before
    for room in DECIDING:
        (tmp_path / room / "law.py").write_text("STEP = 2\n")
        other.append(code_key.__wrapped__(tmp_path))
    assert len({before, *other}) == 1 + len(DECIDING)


def test_every_room_whose_code_decides_is_among_those_asked() -> None:
    package = Path(forehear.__file__).parent
    told = {path.parent.name for path in package.glob("*/__init__.py")}
    assert told - set(DECIDING) == {
        "app",
        "design",
        "listen",
        "parts",
        "publish",
        "voice",
    }  # make no number of these


@pytest.mark.parametrize("spoilt", ["cut", "empty", "gone", "other arrays", "other shapes"])
def test_a_damaged_file_is_made_again(spoilt: str, cache: Path, twin_told: Path) -> None:
    shutil.copytree(twin_told, cache.parents[1])
    twin, files = situation("twin"), KeptFiles(cache, MOST_BYTES)
    ranges, story = kept_ranges(twin, refuse), kept_story(twin, refuse)
    for path in cache.glob("*.npz"):
        found = files.get(path.stem)
        assert found is not None
        if spoilt == "cut":
            path.write_bytes(path.read_bytes()[:-100])
        elif spoilt == "empty":
            path.write_bytes(b"")
        elif spoilt == "gone":
            path.unlink()
        elif spoilt == "other arrays":
            files.put(path.stem, {"drawn": np.ones(3)}, {})
        else:
            files.put(path.stem, {name: array[:1] for name, array in found.items()}, {})
    assert is_known(twin) == (False, False)
    assert_alike(kept_story(twin), story)
    assert content_key(kept_ranges(twin)) == content_key(ranges)
    assert is_known(twin) == (True, True)


def test_where_nothing_can_be_kept_all_is_found_each_time(cache: Path) -> None:
    cache.parent.parent.mkdir()
    cache.parent.write_text("in the way of the folder")
    twin = situation("twin")
    assert_alike(kept_story(twin), tell_room(twin))
    assert content_key(kept_ranges(twin)) == content_key(seat_ranges(twin))
    assert is_known(twin) == (False, False)
    assert cache.parent.is_file()


def test_a_story_that_was_stopped_is_not_kept(cache: Path) -> None:
    def stop(share: float, _doing: str) -> None:
        if share > 0.5:
            raise WorkedOut

    with pytest.raises(WorkedOut):
        kept_story(situation("twin"), stop)
    assert not cache.exists()
