"""What the room tests share."""

from pathlib import Path

import pytest

from forehear.design import write_starter


@pytest.fixture
def starter(tmp_path: Path) -> Path:
    """A fresh starter folder's design file."""
    return write_starter(tmp_path / "starter")[1]
