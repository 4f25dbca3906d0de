"""Units in public names are spelled as the house spells them."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from habits.house import SOURCE, Function, arguments, parsed, public_items, python_files, short
from habits.names import BORDERS, complaint


def _names(path: Path) -> Iterator[str]:
    for item in public_items(parsed(path), short(path)):
        if isinstance(item.node, Function):
            yield from (item.node.name, *(argument.arg for argument in arguments(item.node)))
        else:
            fields = (field.target for field in item.node.body if isinstance(field, ast.AnnAssign))
            yield from (
                field.id for field in fields if isinstance(field, ast.Name) and not field.id.startswith("_")
            )


@pytest.mark.parametrize("path", python_files(SOURCE), ids=short)
def test_units_in_names(path: Path) -> None:
    border = bool(BORDERS & {*path.parts, path.stem})
    said = [words for name in _names(path) if (words := complaint(name, border=border))]
    assert not said, "\n".join(said)


@pytest.mark.parametrize(
    "name", ["width_m", "pressure_pa_v", "form_pa2_v2", "bl_n_a", "per_hertz", "driver", "h"]
)
def test_a_good_name_passes(name: str) -> None:
    assert not complaint(name, border=False)


@pytest.mark.parametrize(
    "name", ["width_cm", "tuned_khz", "length_meters", "width_mm", "volume_l", "speed_s_m_s"]
)
def test_a_bad_name_is_found(name: str) -> None:
    assert complaint(name, border=False)


def test_millimetres_live_at_the_borders() -> None:
    assert not complaint("width_mm", border=True)
    assert complaint("width_cm", border=True)
