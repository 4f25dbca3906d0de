"""The third maker of the equations' operator: matrix-free on one graphics card, for more nodes than memory holds.

Loaded only when asked for; it needs CuPy (the `gpu` extra) and a card of NVIDIA's. The sums are those of `kernels`
and the corrections those of `near`, so both makers give the same product to single precision.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cache, cached_property
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.errors import NoGraphicsCard, TooLittleMemory
from forehear.radiation.elements import Elements
from forehear.radiation.near import Correction
from forehear.radiation.operators import Equations, Operator, SingleComplex

_THREADS, _OUTER, _TILE = 128, 2, 64  # as in pairs.cu
_MOST_COLUMNS = 4
_ENOUGH_BLOCKS = 4000
_DIRECTIONS_AT_ONCE = 256
_WITHOUT = "solve without the graphics card"

Library: TypeAlias = Any
"""CuPy, which need not be there and has no types."""

OnCard: TypeAlias = Any
"""An array in the card's memory."""


@cache
def card_library() -> Library:
    """CuPy, once it has been seen to find a graphics card."""
    try:
        import cupy
    except ImportError as error:
        raise NoGraphicsCard(
            "solving on the graphics card needs CuPy, which is not installed",
            cure=f"install forehear with its gpu extra, or {_WITHOUT}",
        ) from error
    try:
        found = cupy.cuda.runtime.getDeviceCount()
    except cupy.cuda.runtime.CUDARuntimeError as error:
        raise NoGraphicsCard(
            f"no graphics card answers ({_first_line(error)})", cure=f"look after its driver, or {_WITHOUT}"
        ) from error
    if not found:
        raise NoGraphicsCard("there is no graphics card that CuPy can use", cure=_WITHOUT)
    return cupy


@cache
def _kernel(name: str, columns: int, images: int = 1) -> Library:
    """Compile a kernel for as many columns and images; CuPy keeps what is compiled in the user's cache folder."""
    code = Path(__file__).with_name("pairs.cu").read_text(encoding="utf-8")
    return card_library().RawKernel(
        code, name, ("--use_fast_math", f"-DCOLUMNS={columns}", f"-DIMAGES={images}")
    )


def _blocks(threads: int) -> tuple[int]:
    return (-(-threads // _THREADS),)


@dataclass(frozen=True, eq=False)
class _Table:
    """A sparse table on the card."""

    first: OnCard
    index: OnCard
    entry: OnCard
    own: OnCard  # which entries lie on the diagonal

    @classmethod
    def of(cls, table: csr_array) -> "_Table":
        """Take a table there."""
        card = card_library()
        row = np.repeat(np.arange(table.shape[0]), np.diff(table.indptr))
        own = card.asarray(np.flatnonzero(row == table.indices))
        first, index = (card.asarray(each.astype(np.int32)) for each in (table.indptr, table.indices))
        return cls(first, index, card.asarray(table.data.astype(np.complex64)), own)

    def diagonal(self, into: OnCard) -> None:
        """Add the diagonal."""
        into[self.index[self.own]] += self.entry[self.own]

    def add(self, columns: OnCard, into: OnCard) -> None:
        """Add the product with columns."""
        rows = len(self.first) - 1
        count = columns.shape[1]
        given = (self.first, self.index, self.entry, columns, np.int32(rows), into)
        _kernel("add_table", count)(_blocks(rows * count), (_THREADS,), given)


@dataclass(frozen=True, eq=False)
class _Near:
    """Static corrections of an image: three kinds of entries in the same places."""

    places: _Table
    double: OnCard
    curls: OnCard
    normals: OnCard

    @classmethod
    def of(cls, near: Correction) -> "_Near":
        """Take them to the card."""
        card = card_library()
        entries = (
            card.asarray(kind.data.astype(np.float32)) for kind in (near.double, near.curls, near.normals)
        )
        return cls(_Table.of(near.double), *entries)

    def at(self, wavenumber_1_m: float, coupling_m: float, sign: float) -> _Table:
        """Weigh them for a frequency and parity."""
        weak = np.complex64(-1j * coupling_m)
        curls = self.curls - np.float32(wavenumber_1_m**2) * self.normals
        return replace(self.places, entry=np.float32(sign) * (weak * curls - self.double))


@dataclass(frozen=True, eq=False)
class _Surface:
    """What the card keeps of a surface, whatever the frequency."""

    place: OnCard  # [point, 4]
    normal: OnCard  # [point, 4] vector area, area
    to_points: _Table  # [point x 4, node] the mean of both ends, and the curl
    to_nodes: _Table  # the same, turned about
    near: list[_Near]
    mass: _Table


def _four(first: FloatArray, last: FloatArray) -> NDArray[np.float32]:
    return np.concatenate([first, last[:, None]], axis=1).astype(np.float32)


def _to_points(elements: Elements) -> csr_array:
    """Mean of both ends, and the three parts of the surface curl times area, at every edge: [edge x 4, node]."""
    edges = np.arange(len(elements.ends))
    rows = [np.repeat(4 * edges, 2)]
    columns, values = [elements.ends.ravel()], [np.full(2 * edges.size, 0.5)]
    for axis in range(3):
        for side in range(3):
            rows.append(np.repeat(4 * elements.sides[:, side] + 1 + axis, 3))
            columns.append(elements.triangle.ravel())
            values.append(elements.curl_m[:, :, axis].ravel())
    shape = (4 * edges.size, len(elements.place_m))
    together = np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))
    return coo_array(together, shape=shape).tocsr()


@dataclass(frozen=True, eq=False)
class GpuOperator:
    """The left side of the equations as a product of all pairs of points, worked out anew each time."""

    surface: _Surface
    mirror: OnCard  # [image, 4] signs of the axes, and of the field
    tables: list[_Table]  # corrections and half the mass
    still: OnCard  # [node] no pressure there
    wavenumber_1_m: float
    coupling_m: float

    @cached_property
    def diagonal(self) -> SingleComplex:
        """Diagonal of the matrix, [node]."""
        card = card_library()
        nodes = len(self.still)
        own: SingleComplex = card.zeros(nodes, dtype=np.complex64)
        back = self.surface.to_nodes
        given = (self.surface.place, self.surface.normal, self.mirror, back.first, back.index, back.entry)
        last = (np.int32(nodes), *self._wave(), own)
        _kernel("own_share", 1, len(self.mirror))(_blocks(nodes), (_THREADS,), (*given, *last))
        for table in self.tables:
            table.diagonal(own)
        own[self.still] = 1.0
        return own

    def take(self, columns: ComplexArray) -> SingleComplex:
        """Take columns to the card."""
        there: SingleComplex = card_library().asarray(columns.astype(np.complex64))
        return there

    def give(self, columns: SingleComplex) -> SingleComplex:
        """Bring columns back."""
        here: SingleComplex = card_library().asnumpy(columns)
        return here

    def apply(self, columns: SingleComplex) -> SingleComplex:
        """Multiply columns [column, node] by the matrix; they stay on the card."""
        card = card_library()
        parts = [
            self._product(card.ascontiguousarray(columns[start : start + _MOST_COLUMNS].T)).T
            for start in range(0, len(columns), _MOST_COLUMNS)
        ]
        product: SingleComplex = card.concatenate(parts)
        return product

    def _product(self, columns: OnCard) -> OnCard:
        card = card_library()
        count = columns.shape[1]
        still = self.still[:, None]
        free = card.where(still, 0, columns)
        points = len(self.surface.place)
        at_points = card.zeros((4 * points, count), dtype=np.complex64)
        self.surface.to_points.add(free, at_points)
        across = -(-points // (_THREADS * _OUTER))
        tiles = -(-points // _TILE)
        parts = max(1, min(tiles, -(-_ENOUGH_BLOCKS // across)))
        part = card.empty((parts, 4 * points, count), dtype=np.complex64)
        given = (self.surface.place, self.surface.normal, self.mirror, at_points, *self._wave(), part)
        _kernel("send_pressure", count, len(self.mirror))((across, parts), (_THREADS,), given)
        joined = (self.surface.normal, part, np.int32(parts), *self._wave(), at_points)
        _kernel("join_parts", count)(_blocks(4 * points), (_THREADS,), joined)
        product = card.zeros_like(free)
        self.surface.to_nodes.add(at_points, product)
        for table in self.tables:
            table.add(free, product)
        return card.where(still, columns, product)

    def _wave(self) -> tuple[np.float32, np.float32, np.int32]:
        """Give the last arguments of every kernel."""
        points = np.int32(len(self.surface.place))
        return np.float32(self.wavenumber_1_m), np.float32(self.coupling_m), points


@dataclass(frozen=True, eq=False)
class GpuEquations(Equations):
    """The equations of a surface with everything large on the card."""

    def prepare(self) -> None:
        """Work out all that every frequency shares and take it to the card."""
        _ = self._surface

    @cached_property
    def _surface(self) -> _Surface:
        card = card_library()
        elements = self.part.elements
        forward = _to_points(elements)
        area = elements.to_edges(elements.area_m2)
        return _Surface(
            card.asarray(_four(elements.edge_place_m, 0 * area)),
            card.asarray(_four(elements.to_edges(elements.vector_area_m2), area)),
            _Table.of(forward),
            _Table.of(forward.T.tocsr()),
            [_Near.of(near) for near in self._corrections],
            _Table.of((0.5 * elements.mass_m2).tocsr()),
        )

    def memory_bytes(self, _parities: int) -> float:
        """No matrix is kept, so what memory a solve takes is the card's."""
        return 0.0

    def operators(self, wavenumber_1_m: float, parities: FloatArray) -> Iterable[Operator]:
        """Make the left sides of some parities ready, [parity, 3]."""
        return [self.operator(wavenumber_1_m, parity) for parity in parities]

    def operator(self, wavenumber_1_m: float, parity: FloatArray) -> GpuOperator:
        """Make the left side of the equations ready; nothing is multiplied yet."""
        card = card_library()
        coupling = self.coupling_m(wavenumber_1_m)
        signs = self.part.character(parity)
        near = zip(self._surface.near, signs, strict=True)
        tables = [one.at(wavenumber_1_m, coupling, sign) for one, sign in near]
        return GpuOperator(
            self._surface,
            self._mirror(parity),
            [*tables, self._surface.mass],
            card.asarray(self.part.still(parity)),
            wavenumber_1_m,
            coupling,
        )

    def right_side(self, wavenumber_1_m: float, parity: FloatArray, slope: FloatArray) -> ComplexArray:
        """Work out what sources of slope `slope` [triangle, source] send to the nodes, [node, source]."""
        elements = self.part.elements
        flow = elements.to_edges(slope * elements.area_m2[:, None])
        potential = np.concatenate(
            [
                self._sent(wavenumber_1_m, parity, flow[:, start : start + _MOST_COLUMNS])
                for start in range(0, flow.shape[1], _MOST_COLUMNS)
            ],
            axis=1,
        )
        return self._with_close_share(wavenumber_1_m, parity, slope, elements.to_nodes @ potential)

    def _sent(self, wavenumber_1_m: float, parity: FloatArray, flow: FloatArray) -> ComplexArray:
        card = card_library()
        count, points = flow.shape[1], len(flow)
        moving = np.flatnonzero(np.any(flow != 0, axis=1))
        potential = card.empty((points, count), dtype=np.complex64)
        mirror = self._mirror(parity)
        given = (
            *(self._surface.place, self._surface.normal, mirror, self._surface.place[card.asarray(moving)]),
            *(card.asarray(flow[moving].astype(np.float32)), np.int32(moving.size)),
            *(np.float32(wavenumber_1_m), np.float32(self.coupling_m(wavenumber_1_m))),
            *(np.int32(points), potential),
        )
        _kernel("send_slope", count, len(mirror))(_blocks(points), (_THREADS,), given)
        sent: ComplexArray = card.asnumpy(potential).astype(np.complex128)
        return sent

    def far_field(
        self, wavenumber_1_m: float, pressure: ComplexArray, slope: FloatArray, unit: FloatArray
    ) -> ComplexArray:
        """Far field of the part alone, without its images, about the middle, [direction, source]."""
        with self.watched("summing the far field"):
            return self._far_field(wavenumber_1_m, pressure, slope, unit)

    def _far_field(
        self, wavenumber_1_m: float, pressure: ComplexArray, slope: FloatArray, unit: FloatArray
    ) -> ComplexArray:
        card = card_library()
        elements = self.part.elements
        flow = card.asarray(elements.to_edges(slope * elements.area_m2[:, None]).astype(np.complex64))
        at_edges = card.asarray(np.asarray(elements.to_nodes.T @ pressure, dtype=np.complex64))
        place, area = self._surface.place[:, :3], self._surface.normal[:, :3]
        found = np.empty((len(unit), slope.shape[1]), dtype=np.complex128)
        for start in range(0, len(unit), _DIRECTIONS_AT_ONCE):
            block = slice(start, start + _DIRECTIONS_AT_ONCE)
            toward = card.asarray((wavenumber_1_m * unit[block]).astype(np.float32))
            phase = card.exp(1j * (toward @ place.T))
            sent = (1j * (toward @ area.T) * phase) @ at_edges - phase @ flow
            found[block] = card.asnumpy(sent)
        return found / (4 * np.pi)

    def _mirror(self, parity: FloatArray) -> OnCard:
        return card_library().asarray(_four(self.part.mirrors, self.part.character(parity)))

    @contextmanager
    def watched(self, doing: str) -> Iterator[None]:
        """Say in one sentence that the card has gone, or has too little memory."""
        card = card_library()
        lost = (card.cuda.runtime.CUDARuntimeError, card.cuda.driver.CUDADriverError)
        try:
            yield
        except card.cuda.memory.OutOfMemoryError as error:
            raise TooLittleMemory(
                f"{len(self.part.elements.place_m)} unknowns need more memory than the graphics card has free",
                cure="use a coarser mesh up to a lower frequency, or close other programs",
            ) from error
        except lost as error:
            raise NoGraphicsCard(
                f"the graphics card was lost while {doing} ({_first_line(error)})",
                cure=f"keep what is done and start again, or {_WITHOUT}",
            ) from error


def _first_line(error: Exception) -> str:
    return str(error).splitlines()[0] if str(error) else type(error).__name__
