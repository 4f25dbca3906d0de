"""Results kept on disk: found again whole, never half, never more than there is room for."""

import os
from pathlib import Path

import numpy as np
import pytest

from forehear.ground.files import cache_folder
from forehear.ground.store import KeptFiles

ARRAYS = {"hz": np.array([1.0, 2.0]), "field": np.arange(6, dtype=np.complex64).reshape(2, 3)}


def test_what_was_kept_is_found_again(tmp_path: Path) -> None:
    files = KeptFiles(tmp_path / "new" / "deep", 10**6)
    assert files.get("a") is None
    assert not files.has("a")
    files.put("a", ARRAYS, {"what": "a test"})
    assert files.has("a")
    found = KeptFiles(tmp_path / "new" / "deep", 10**6).get("a")
    assert found is not None
    assert found.keys() == ARRAYS.keys()
    for name, array in ARRAYS.items():
        np.testing.assert_array_equal(found[name], array)
        assert found[name].dtype == array.dtype
    assert sorted(path.name for path in (tmp_path / "new" / "deep").iterdir()) == ["a.json", "a.npz"]


@pytest.mark.parametrize("name", ["a.npz", "a.json"])
@pytest.mark.parametrize("spoilt", [None, b"", b"{}", b"[1]", b"\xff\xfe", "cut", "one bit"])
def test_what_is_damaged_counts_as_not_there(tmp_path: Path, name: str, spoilt: bytes | str | None) -> None:
    files = KeptFiles(tmp_path, 10**6)
    files.put("a", ARRAYS, {})
    path = tmp_path / name
    whole = path.read_bytes()
    if spoilt is None:
        path.unlink()
    elif spoilt == "cut":
        path.write_bytes(whole[: len(whole) // 2])
    elif spoilt == "one bit":
        place = whole.index(b"digest") + 12 if name == "a.json" else len(whole) // 2
        path.write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
    elif isinstance(spoilt, bytes):
        path.write_bytes(spoilt)
    assert files.get("a") is None
    files.put("a", ARRAYS, {})
    assert files.get("a") is not None


def test_what_was_used_longest_ago_goes_first(tmp_path: Path) -> None:
    one = 800  # bytes: an entry of these arrays takes more than half of that and less
    size = sum(len(path.read_bytes()) for path in _kept(tmp_path / "size"))
    assert one / 2 < size < one
    files = KeptFiles(tmp_path / "cache", 3 * one - 1)
    for number, key in enumerate("abc"):
        files.put(key, ARRAYS, {})
        os.utime(tmp_path / "cache" / f"{key}.npz", (number, number))
    assert files.get("a") is not None  # used again
    for key in "de":
        files.put(key, ARRAYS, {})
    there = {key for key in "abcde" if files.get(key)}
    assert {"a", "e"} <= there
    assert "b" not in there
    assert sum(path.stat().st_size for path in (tmp_path / "cache").iterdir()) <= 3 * one


def _kept(folder: Path) -> list[Path]:
    KeptFiles(folder, 10**6).put("a", ARRAYS, {})
    return list(folder.iterdir())


def test_a_folder_that_cannot_be_written_is_no_matter(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    files = KeptFiles(tmp_path / "file" / "below", 10**6)
    files.put("a", ARRAYS, {})
    assert files.get("a") is None


def test_the_cache_is_where_the_user_wants_it(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert cache_folder() == tmp_path / "forehear"
    monkeypatch.delenv("XDG_CACHE_HOME")
    assert cache_folder() == Path.home() / ".cache" / "forehear"
