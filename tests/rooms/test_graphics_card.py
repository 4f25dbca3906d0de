"""The reference solver on a graphics card: the same numbers as without, and one sentence when there is no card.

Tests marked `gpu` need a card of NVIDIA's and CuPy; the others stand in for both.
"""

import sys
from collections.abc import Iterator
from types import SimpleNamespace

import numpy as np
import pytest

from forehear.ground.errors import NoGraphicsCard, TooLittleMemory
from forehear.radiation import Face, Mesh, Piston, Solver, box_surface, gpu, solve_surface
from forehear.radiation.operators import Equations

C = 343.2
ASIDE = (Piston((0.03, -0.05), 0.05), Piston((-0.05, 0.1), 0.03), Piston((0.02, 0.0), 0.05, Face.RIGHT))
PAIR = (Piston((-0.05, 0.0), 0.03), Piston((0.05, 0.0), 0.03))
AHEAD = np.array([[1.0, 0.0, 0.0], [0.6, 0.0, 0.8], [-0.6, 0.8, 0.0]])
HZ = np.array([300.0, 500.0, 900.0])


class LostError(RuntimeError):
    """Stands for what CuPy raises when the card does not answer."""


class FullError(MemoryError):
    """Stands for what CuPy raises when the card's memory is full."""


def box(pistons: tuple[Piston, ...], element_m: float = 0.06) -> Mesh:
    return box_surface((0.2, 0.3, 0.22), pistons, element_m)


def stand_in(cards: int | None) -> SimpleNamespace:
    """As much of CuPy as is asked before anything is solved; None: no driver."""

    def count() -> int:
        if cards is None:
            raise LostError("cudaErrorInsufficientDriver: too old a driver\nand a second line")
        return cards

    runtime = SimpleNamespace(getDeviceCount=count, CUDARuntimeError=LostError)
    memory = SimpleNamespace(OutOfMemoryError=FullError)
    driver = SimpleNamespace(CUDADriverError=LostError)
    return SimpleNamespace(cuda=SimpleNamespace(runtime=runtime, memory=memory, driver=driver))


@pytest.fixture
def forgetful() -> Iterator[None]:
    """Ask for the card anew, before and after."""
    gpu.card_library.cache_clear()
    yield
    gpu.card_library.cache_clear()


@pytest.mark.usefixtures("forgetful")
@pytest.mark.parametrize(
    ("library", "words"),
    [
        (None, "needs CuPy, which is not installed"),
        (stand_in(None), r"no graphics card answers \(cudaErrorInsufficientDriver: too old a driver\)"),
        (stand_in(0), "there is no graphics card that CuPy can use"),
    ],
    ids=["no library", "no driver", "no card"],
)
def test_a_missing_card_is_told_in_one_sentence(
    monkeypatch: pytest.MonkeyPatch, library: SimpleNamespace | None, words: str
) -> None:
    monkeypatch.setitem(sys.modules, "cupy", library)
    mesh = box(PAIR)
    with pytest.raises(NoGraphicsCard, match=words) as caught:
        solve_surface(mesh.vertices_m, mesh.triangles, mesh.source_of_triangle, HZ, AHEAD, gpu=True)
    assert "\n" not in caught.value.what
    assert "without the graphics card" in caught.value.cure


@pytest.mark.usefixtures("forgetful")
@pytest.mark.parametrize(
    ("trouble", "kind", "words"),
    [
        (LostError("an illegal access"), NoGraphicsCard, r"lost while solving 900 Hz \(an illegal access\)"),
        (FullError(), TooLittleMemory, r"\d+ unknowns need more memory than the graphics card has free"),
    ],
    ids=["lost", "full"],
)
def test_what_was_done_before_the_card_was_lost_is_kept(
    monkeypatch: pytest.MonkeyPatch, trouble: Exception, kind: type[Exception], words: str
) -> None:
    """The matrix in memory stands in for the card, up to the third frequency."""
    made = []

    def operators(self: gpu.GpuEquations, wavenumber_1_m: float, parities: np.ndarray) -> object:
        made.append(wavenumber_1_m)
        if wavenumber_1_m > 2 * np.pi * 800.0 / C:
            raise trouble
        return self.dense(wavenumber_1_m, parities)

    monkeypatch.setitem(sys.modules, "cupy", stand_in(1))
    monkeypatch.setattr(gpu.GpuEquations, "operators", operators)
    for name in ("prepare", "right_side", "far_field"):
        monkeypatch.setattr(gpu.GpuEquations, name, getattr(Equations, name))
    mesh = box(PAIR)
    kept: dict[int, np.ndarray] = {}
    with pytest.raises(kind, match=words) as caught:
        kept.update(Solver(mesh.surface, gpu=True).sweep(HZ, AHEAD))
    assert "\n" not in str(caught.value.args[0])
    assert made
    plain = Solver(mesh.surface)
    assert sorted(kept) == [0, 1]
    for place, pressure in kept.items():
        np.testing.assert_allclose(pressure, plain.pressure(HZ[place], AHEAD), rtol=1e-6)


@pytest.mark.gpu
@pytest.mark.parametrize("walls", [(), ((2, -0.2), (0, -0.3))], ids=["free", "corner"])
@pytest.mark.parametrize("pistons", [ASIDE, PAIR], ids=["aside", "pair"])
def test_the_card_multiplies_as_the_matrix_does(
    pistons: tuple[Piston, ...], walls: tuple[tuple[int, float], ...]
) -> None:
    """Every parity, one to six columns of noise; single precision both: within 1e-4, in fact 4e-7."""
    surface = box(pistons, 0.03).surface
    plain = Solver(surface, rigid_planes=walls).equations
    card = Solver(surface, rigid_planes=walls, gpu=True).equations
    draw = np.random.default_rng(1)
    for hz in (100.0, 1900.0):
        wavenumber = 2 * np.pi * hz / C
        parities = plain.part.parities
        for parity, matrix in zip(parities, plain.dense(wavenumber, parities), strict=True):
            product = card.operator(wavenumber, parity)
            nodes = len(matrix.transposed)
            np.testing.assert_allclose(
                product.give(product.diagonal), matrix.diagonal, atol=1e-5 * np.abs(matrix.diagonal).max()
            )
            for count in (1, 2, 3, 4, 6):
                noise = draw.standard_normal((count, nodes)) + 1j * draw.standard_normal((count, nodes))
                wanted = matrix.apply(noise.astype(np.complex64))
                still = plain.part.still(parity)
                found = product.give(product.apply(product.take(noise)))
                assert np.linalg.norm((found - wanted)[:, ~still]) < 1e-4 * np.linalg.norm(wanted[:, ~still])
                np.testing.assert_allclose(found[:, still], wanted[:, still], rtol=1e-6)


@pytest.mark.gpu
@pytest.mark.parametrize("pistons", [ASIDE, PAIR], ids=["aside", "pair"])
def test_the_card_finds_the_same_far_field(pistons: tuple[Piston, ...]) -> None:
    surface = box(pistons, 0.03).surface
    for hz in (100.0, 1900.0):
        wanted, found = (Solver(surface, gpu=card).pressure(hz, AHEAD) for card in (False, True))
        assert np.linalg.norm(found - wanted) < 1e-4 * np.linalg.norm(wanted)
