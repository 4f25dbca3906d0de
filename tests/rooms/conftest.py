"""What the room tests share."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from forehear.app.desk.live import Desk
from forehear.design import load, write_starter
from forehear.spine.situation import refine_design
from rooms.desks import EXAMPLE, Reader, TestClient, example, page, served
from rooms.refined import SMALL, Counted, counted


@pytest.fixture
def starter(tmp_path: Path) -> Path:
    """A fresh starter folder's design file."""
    return write_starter(tmp_path / "starter")[1]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the example, with a state folder of its own."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return example(tmp_path)


@pytest.fixture
def desk(folder: Path) -> Iterator[tuple[TestClient, Desk]]:
    """A served desk on that copy."""
    client, desk = served(folder)
    with client:
        yield client, desk


@pytest.fixture
def reader(desk: tuple[TestClient, Desk]) -> Iterator[Reader]:
    """A page on that desk, its first picture read."""
    with page(desk[0]) as reader:
        reader.picture()
        yield reader


@pytest.fixture(scope="session")
def twin_solved(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A cache folder that holds the small reference solution of the twin; not to be changed."""
    folder = tmp_path_factory.mktemp("solved")
    with pytest.MonkeyPatch.context() as patch, counted():
        patch.setenv("XDG_CACHE_HOME", str(folder))
        refine_design(load(EXAMPLE / "twin.yaml"), SMALL)
    return folder


@pytest.fixture
def solved(twin_solved: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Counted]:
    """A cache of its own that holds the small solution of the twin; bands solved meanwhile are counted."""
    shutil.copytree(twin_solved, tmp_path / "cache")
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    with counted() as count:
        yield count


@pytest.fixture
def unsolved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Counted]:
    """An empty cache of its own; bands solved meanwhile are counted."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    with counted() as count:
        yield count
