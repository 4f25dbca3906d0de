"""What the room tests share."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from forehear.app.desk.live import Desk
from forehear.design import write_starter
from rooms.desks import Reader, TestClient, example, page, served


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
