"""The package holds what running needs, and nothing that running made."""

import subprocess
import sys
import zipfile
from pathlib import Path

from habits.house import SOURCE, TOP, files_of_the_house


def test_the_wheel_holds_the_house_and_its_example(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(command, cwd=TOP, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    held = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    listed = files_of_the_house()
    source = {path.relative_to(SOURCE.parent).as_posix() for path in listed if SOURCE in path.parents}
    example = {
        f"forehear/{path.relative_to(TOP).as_posix()}" for path in listed if TOP / "examples" in path.parents
    }
    assert example, "there is no example"
    assert held == source | example
