"""Every formula of the physics rooms says its units and where it comes from."""

import ast
import tomllib
from pathlib import Path

import pytest

from habits.docstrings import complaints
from habits.house import PHYSICS, SOURCE, Function, parsed, public_items, python_files, short

KNOWN = frozenset(tomllib.loads((SOURCE / "sources.toml").read_text(encoding="utf-8")))
ROOMS = [SOURCE / room for room in (*PHYSICS, "ground")]

GOOD = '''
def level(pressure_pa: float) -> float:
    """Level of a pressure.

    .. math:: L = 20 \\\\lg p

    Parameters
    ----------
    pressure_pa : float
        Pressure. [Pa]

    Returns
    -------
    float
        Level. [dB]

    Source
    ------
    some-book-1999, eq. 1: any pressure.
    """
'''


def _complaints(text: str) -> list[str]:
    node = ast.parse(text).body[0]
    assert isinstance(node, Function)
    return complaints(node, frozenset({"some-book-1999"}))


@pytest.mark.parametrize("path", python_files(*ROOMS), ids=short)
def test_physics_says_units_and_source(path: Path) -> None:
    said = [
        f"{item.name} {complaint}"
        for item in public_items(parsed(path), short(path))
        if isinstance(item.node, Function)
        for complaint in complaints(item.node, KNOWN, physics=path.relative_to(SOURCE).parts[0] in PHYSICS)
    ]
    assert not said, "\n".join(said)


def test_a_good_docstring_passes() -> None:
    assert _complaints(GOOD) == []
    assert _complaints('def f(x: float) -> float:\n    """Return x."""') == []


@pytest.mark.parametrize(
    ("cut", "put", "complaint"),
    [
        ("Pressure. [Pa]", "Pressure.", "gives no [unit] for pressure_pa"),
        ("Level. [dB]", "Level.", "gives no [unit] for what it returns"),
        ("pressure_pa : float", "p : float", "does not describe pressure_pa"),
        ("some-book-1999", "other-book-2001", "names no source of sources.toml"),
        ("Source\n    ------\n", "", "has no Source section"),
    ],
)
def test_a_bad_docstring_is_found(cut: str, put: str, complaint: str) -> None:
    assert cut in GOOD
    assert any(complaint in said for said in _complaints(GOOD.replace(cut, put)))


def test_sources_are_told_apart_and_in_order() -> None:
    sources = tomllib.loads((SOURCE / "sources.toml").read_text(encoding="utf-8"))
    assert list(sources) == sorted(sources)
    bare = [
        key
        for key, source in sources.items()
        if not ({"authors", "year"} <= source.keys() or "note" in source)
    ]
    assert not bare, f"neither authors and year nor a note: {bare}"
    assert all("title" in source for source in sources.values())
