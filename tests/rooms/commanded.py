"""What `forehear voice` did to a copy of the example, kept for every test that looks at it."""

import contextlib
import io
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from forehear.app.cli import main
from rooms.attic import copied


@dataclass(frozen=True)
class VoicedTwin:
    """The twin voiced with nothing said: its folder, what lay there before, the numbers, and what was printed."""

    folder: Path
    before: dict[Path, bytes]
    numbers: dict[str, Any]
    told: str


def voice_the_twin(place: Path) -> VoicedTwin:
    """Run the command on a copy of the example."""
    folder, numbers = copied(place / "attic"), place / "numbers.json"
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    told = io.StringIO()
    with contextlib.redirect_stdout(told):
        assert main(["voice", str(folder / "twin.yaml"), "--json", str(numbers)]) == 0
    return VoicedTwin(folder, before, json.loads(numbers.read_text(encoding="utf-8")), told.getvalue())
