"""A driver moved in a shape that is solved: only what changes is solved again."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from forehear.ground.air import Air
from forehear.ground.axes import Directions
from forehear.ground.store import KeptResults
from forehear.spine import refining
from forehear.spine.refining import Moving, Shape, finished, refine
from rooms.refined import SMALL, Counted

AROUND = Directions.joined(Directions.horizontal_orbit(), Directions.vertical_orbit())
BOX = Shape((0.22, 0.40, 0.25), 0.0, (Moving((0.0, -0.06), 0.06), Moving((0.01, 0.1), 0.03)), Air())


def moved(shape: Shape, source: int, **to: object) -> Shape:
    moving = list(shape.moving)
    moving[source] = replace(moving[source], **to)  # type: ignore[arg-type]
    return replace(shape, moving=tuple(moving))


def test_a_moved_driver_is_solved_alone(
    unsolved: Counted, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """While it is still a flat driver is part of the front: what others send is what was found without it there."""
    bands = len(SMALL.bands_hz)
    before = refine(BOX, SMALL)
    assert unsolved.sources == bands * [(0, 1)]
    lower = moved(BOX, 0, centre_m=(-0.005, -0.08))
    assert finished(lower, SMALL) is None
    after = refine(lower, SMALL)
    assert unsolved.sources[bands:] == bands * [(0,)]
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "another"))
    refining._loaded = KeptResults(6)  # what memory holds is forgotten
    fresh = refine(lower, SMALL)
    assert unsolved.sources[2 * bands :] == bands * [(0, 1)]
    for source, place_m in enumerate(((-0.005, -0.08, 0.0), (0.01, 0.1, 0.0))):
        own, wanted = (each.pressure(source, place_m, AROUND, each.frequency_hz) for each in (after, fresh))
        assert np.abs(20 * np.log10(np.abs(own / wanted))).max() < 0.1
        assert np.abs(np.angle(own / wanted)).max() < 0.02
    assert np.array_equal(
        after.bands[-1].coefficient_pa[1], before.bands[-1].coefficient_pa[1].astype(np.complex64)
    )


def test_what_is_not_flat_is_part_of_every_others_shape(unsolved: Counted) -> None:
    bands, dome = len(SMALL.bands_hz), moved(BOX, 1, dome_height_m=0.01)
    refine(dome, SMALL)
    refine(moved(dome, 1, centre_m=(0.0, 0.11)), SMALL)
    refine(moved(dome, 0, radius_m=0.05), SMALL)
    assert unsolved.sources == [*(2 * bands * [(0, 1)]), *(bands * [(0,)])]
