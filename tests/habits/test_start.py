"""Starting is quick: help is shown without loading what it does not need."""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from forehear.listen.session import begin, close
from forehear.listen.session_file import as_text
from rooms.sessions import abx

HEAVY = {
    "numpy",
    "scipy",
    "pydantic",
    "pydantic_core",
    "ruamel",
    "rich",
    "matplotlib",
    "numba",
    "PIL",
    "multiprocessing",
    "fastapi",
    "starlette",
    "uvicorn",
    "websockets",
    "soundfile",
    "h5py",
}
SCRIPT = Path(sys.executable).parent / "forehear"


def _imported(*command: str) -> set[str]:
    """Return the packages that a command loads."""
    return {name.split(".")[0] for name in _modules(*command)}


def _modules(*command: str) -> set[str]:
    """Return every module that a command loads."""
    environment = {
        name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "COVERAGE"))
    }
    run = subprocess.run(
        [sys.executable, "-X", "importtime", *command],
        capture_output=True,
        text=True,
        check=True,
        env=environment,
    )
    names = re.findall(r"^import time:\s*\d+ \|\s*\d+ \|\s*(\S+)", run.stderr, flags=re.MULTILINE)
    assert "encodings" in names, "the list of imports was not read"
    return set(names)


@pytest.mark.parametrize(
    "arguments",
    [["--help"], ["predict", "--help"], ["listen", "--help"], ["desk", "--help"], ["--version"]],
    ids=" ".join,
)
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    assert not HEAVY & _imported(str(SCRIPT), *arguments)


def test_only_the_desk_loads_a_web_server() -> None:
    loaded = _imported("-c", "import forehear.app.commands")
    assert "numpy" in loaded
    assert not {"fastapi", "starlette", "uvicorn", "websockets", "asyncio"} & loaded


def test_only_listening_loads_sound_files_and_head_data() -> None:
    loaded = _imported("-c", "import forehear.app.commands, forehear.listen.clip, forehear.listen.rendering")
    assert "numpy" in loaded
    assert not {"soundfile", "h5py"} & loaded


def test_results_of_a_session_load_nothing_that_solves_or_sounds(tmp_path: Path) -> None:
    """Read and counted, written as a page and as data: numpy, the counting, and words."""
    path = tmp_path / "session.json"
    path.write_text(as_text(close(begin(abx(), "an evening", "2026-01-02", 4))), encoding="utf-8")
    outputs = ["--report", str(tmp_path / "page.html"), "--json", str(tmp_path / "data.json")]
    loaded = _modules(str(SCRIPT), "listen", "--results", str(path), *outputs)
    assert (tmp_path / "page.html").exists()
    assert "forehear.listen.statistics" in loaded, "it was told"
    heavy = {
        "scipy.signal",
        "soundfile",
        "numba",
        "pydantic",
        "ruamel.yaml",
        "forehear.spine",
        "forehear.design",
    }
    assert not heavy & loaded


def test_importing_the_house_is_light() -> None:
    assert not HEAVY & _imported("-c", "import forehear")


def test_a_heavy_import_is_found() -> None:
    assert {"numpy"} <= HEAVY & _imported("-c", "import numpy")
