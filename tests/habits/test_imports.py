"""The contracts on imports can break: a copy of the house with one wrong line for each is refused."""

import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path

from habits.house import SOURCE, TOP

# One wrong line a contract, put at the end of a file.
WRONG = {
    "path": ("ground/air.py", "import forehear.spine"),
    "physics": ("judge/__init__.py", "import forehear.design"),
    "store": ("box/__init__.py", "from forehear.ground import store"),
    "documents": ("room/__init__.py", "import pydantic"),
    "terminal": ("spine/__init__.py", "import rich"),
    "server": ("publish/__init__.py", "import fastapi"),
    "compiled": ("network/__init__.py", "import numba"),
    "heavy": ("radiation/__init__.py", "import matplotlib"),
    "circles": ("ground/arrays.py", "import forehear.ground.flowing"),
}
CONTRACTS = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"][
    "contracts"
]


def test_every_contract_can_break(tmp_path: Path) -> None:
    shutil.copytree(SOURCE, tmp_path / "forehear", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(TOP / "pyproject.toml", tmp_path)
    for file, line in WRONG.values():
        with (tmp_path / "forehear" / file).open("a", encoding="utf-8") as end:
            end.write(f"\n{line}\n")
    command = [Path(sys.executable).parent / "lint-imports", "--no-logo", "--no-cache"]
    environment = {**os.environ, "PYTHONPATH": str(tmp_path), "COLUMNS": "200"}
    run = subprocess.run(command, cwd=tmp_path, env=environment, capture_output=True, text=True, check=False)
    broken = re.findall(r"^(.+) BROKEN$", run.stdout, flags=re.MULTILINE)
    assert sorted(broken) == sorted(contract["name"] for contract in CONTRACTS), run.stdout + run.stderr
    assert run.returncode == 1


def test_every_contract_is_tried() -> None:
    assert set(WRONG) == {contract["id"] for contract in CONTRACTS}
