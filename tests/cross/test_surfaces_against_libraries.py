"""The reference solver against two boundary-element libraries; `make oracles` asks them again.

The stored file holds their versions, settings and meshes. ngsolve solved curved elements of second order on a mesh of
its own, bempp-cl linear ones on finer triangles of our meshers; ours are as coarse as they are used, 6 a wavelength.
"""

import subprocess
import tomllib
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.radiation import Mesh, Solver
from surfaces_asked import BOX_HZ, DENSITY_KG_M3, SHAPES, SOUND_SPEED_M_S, UNIT, box

TOP = Path(__file__).parent.parent.parent
STORED = tomllib.loads((Path(__file__).parent / "data" / "surfaces.toml").read_text(encoding="utf-8"))
ELEMENTS_A_WAVELENGTH = 6.0
SEEN_DB = 25.0  # below the largest level of a source
AHEAD = UNIT[:, 0] > np.cos(np.radians(60.1))
BEHIND = UNIT[:, 0] < -1e-9
Complexes = NDArray[np.complex128]
Row = dict[str, Any]


def said(row: Row) -> Complexes:
    return np.array(row["pressure_real_pa"]) + 1j * np.array(row["pressure_imag_pa"])


def ours(mesh: Mesh, hz: float) -> Complexes:
    return Solver(mesh.surface, SOUND_SPEED_M_S, DENSITY_KG_M3).pressure(hz, UNIT)


@lru_cache
def our_box(hz: float) -> Complexes:
    return ours(box(SOUND_SPEED_M_S / hz / ELEMENTS_A_WAVELENGTH), hz)


def rms_db(found: Complexes, wanted: Complexes, where: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Root mean square difference of each source's levels, where they are within 25 dB of the largest."""
    level = 20 * np.log10(np.abs(wanted))
    seen = (level > level.max(axis=1, keepdims=True) - SEEN_DB) & where
    apart = np.where(seen, 20 * np.log10(np.abs(found)) - level, 0.0)
    return np.sqrt(np.sum(apart**2, axis=1) / np.sum(seen, axis=1))


def hold(found: Complexes, wanted: Complexes) -> None:
    """0.1 dB rms inside 60 degrees, 0.2 dB all around; amplitude and phase together within 3 %."""
    assert found.shape == wanted.shape
    ahead, around = (rms_db(found, wanted, where) for where in (AHEAD, np.ones(len(UNIT), dtype=bool)))
    assert np.all(ahead < 0.1), ahead
    assert np.all(around < 0.2), around
    apart = np.linalg.norm(found - wanted, axis=1) / np.linalg.norm(wanted, axis=1)
    assert np.all(apart < 0.03), apart


def named(row: Row) -> str:
    return f"{row.get('shape', row['library'])} {row['hz']:g} Hz"


@pytest.mark.parametrize("row", STORED["box"], ids=named)
def test_a_box_with_three_pistons(row: Row) -> None:
    hold(our_box(row["hz"]), said(row))


@pytest.mark.parametrize("row", STORED["box"], ids=named)
def test_what_arrives_behind_the_box(row: Row) -> None:
    """Energy of the rear half of both orbits, in deep shadow too, within 0.15 dB."""
    power = [np.sum(np.abs(pressure[:, BEHIND]) ** 2, axis=1) for pressure in (our_box(row["hz"]), said(row))]
    assert np.all(np.abs(10 * np.log10(power[0] / power[1])) < 0.15)


@pytest.mark.parametrize("row", STORED["shape"], ids=named)
def test_other_shapes(row: Row) -> None:
    asked = SHAPES[row["shape"]]
    assert row["hz"] == asked.hz
    hold(ours(asked.mesh(ELEMENTS_A_WAVELENGTH), asked.hz), said(row))


@pytest.mark.parametrize("row", STORED["shape"], ids=named)
def test_other_shapes_on_the_same_triangles(row: Row) -> None:
    """What is left is only how two programs integrate: 0.03 dB rms, amplitude and phase within 0.3 %."""
    mesh = SHAPES[row["shape"]].mesh(row["elements_a_wavelength"])
    assert len(mesh.triangles) == row["triangles"]
    found, wanted = ours(mesh, row["hz"]), said(row)
    assert np.all(rms_db(found, wanted, np.ones(len(UNIT), dtype=bool)) < 0.03)
    assert np.all(np.linalg.norm(found - wanted, axis=1) < 0.003 * np.linalg.norm(wanted, axis=1))


def test_both_libraries_and_all_shapes_are_stored() -> None:
    asked = {(row["library"], row["hz"]) for row in STORED["box"]}
    assert asked == {(library, hz) for library in ("bempp-cl", "ngsolve") for hz in BOX_HZ}
    assert {row["shape"] for row in STORED["shape"]} == set(SHAPES)


@pytest.mark.oracle
@pytest.mark.timeout(3600)
def test_the_libraries_still_say_what_is_stored(tmp_path: Path) -> None:
    """Needs `.venv-oracles`; takes about ten minutes."""
    python, script = TOP / ".venv-oracles" / "bin" / "python", TOP / "tools" / "ask_oracles.py"
    asking = [str(python), str(script), "--into", str(tmp_path), "surfaces.toml"]
    subprocess.run(asking, check=True, env={"PYTHONPATH": f"{TOP / 'src'}:{TOP / 'tests'}"})
    again = tomllib.loads((tmp_path / "surfaces.toml").read_text(encoding="utf-8"))
    for table in ("box", "shape"):
        for old, new in zip(STORED[table], again[table], strict=True):
            assert np.linalg.norm(said(new) - said(old)) < 5e-3 * np.linalg.norm(said(old))
