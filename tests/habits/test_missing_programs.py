"""A test that cannot run for want of a program says so, and in CI it fails."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

CONFTEST = Path(__file__).parents[1] / "conftest.py"
BY_FIXTURE = "def test_needs_it(ngspice):\n    pass\n"
BY_MODULE = "import pytest\npytest.skip('ngspice is not installed', allow_module_level=True)\n"


@pytest.mark.parametrize("test", [BY_FIXTURE, BY_MODULE])
@pytest.mark.parametrize(("ci", "status"), [("false", (0, 5)), ("true", (1, 2))])
def test_a_missing_program(tmp_path: Path, test: str, ci: str, status: tuple[int, ...]) -> None:
    (tmp_path / "conftest.py").write_text(CONFTEST.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "test_one.py").write_text(test, encoding="utf-8")
    (tmp_path / "pytest.toml").write_text("[pytest]\n", encoding="utf-8")
    environment = {**os.environ, "PATH": str(tmp_path), "CI": ci}
    command = [sys.executable, "-m", "pytest", "-rs", "-p", "no:cacheprovider", "."]
    run = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)
    assert run.returncode in status, run.stdout
    assert "ngspice is not installed" in run.stdout
