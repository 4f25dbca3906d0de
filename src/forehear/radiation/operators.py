"""The equations of one frequency and parity, and the first maker that applies them: a full matrix.

Direct formulation after Burton and Miller with linear elements, tested with the same functions (Galerkin),
exp(+jwt), n outward: (1/2 - K - beta H) p = -(V + beta (1/2 + K')) q, beta = -j times the coupling. H is
brought to surface curls, so that every kernel left is a Green's function or its slope.
"""

from collections.abc import Iterable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from forehear.ground.arrays import ComplexArray, FloatArray
from forehear.ground.work import side_by_side
from forehear.radiation.elements import Indices
from forehear.radiation.kernels import Chunk, Points, Tests, Wave, assemble, phases, radiate, room_needed
from forehear.radiation.mirrors import Part
from forehear.radiation.near import Correction, corrections
from forehear.radiation.tables import chunks, tables

SingleComplex = NDArray[np.complex64]

_COUPLING = (
    0.4  # of 1/k: less takes more steps and leaves more of the resonances, more costs accuracy in the shadow
)
_DIRECTIONS_AT_ONCE = 256
_FEWEST_ROWS = 2048  # that are worth a core of their own
_MATRIX_AND_MORE = 1.3  # memory of a solve over that of its matrix


class Operator(Protocol):
    """The left side of the equations: applied to columns, and its diagonal for scaling."""

    @property
    def diagonal(self) -> SingleComplex:
        """Diagonal of the matrix, [node]."""
        ...

    def take(self, columns: ComplexArray) -> SingleComplex:
        """Bring an array to where the products are made."""
        ...

    def give(self, columns: SingleComplex) -> SingleComplex:
        """Bring an array back."""
        ...

    def apply(self, columns: SingleComplex) -> SingleComplex:
        """Multiply columns [column, node], where the products are made, by the matrix."""
        ...


@dataclass(frozen=True, eq=False)
class DenseOperator:
    """A full matrix in memory, kept transposed, [column node, row node]."""

    transposed: SingleComplex
    threads: int = 1

    @property
    def diagonal(self) -> SingleComplex:
        """Diagonal of the matrix, [node]."""
        return np.diagonal(self.transposed)

    def take(self, columns: ComplexArray) -> SingleComplex:
        """Nothing has to be brought anywhere."""
        return columns.astype(np.complex64)

    def give(self, columns: SingleComplex) -> SingleComplex:
        """Nothing has to be brought back."""
        return columns

    def apply(self, columns: SingleComplex) -> SingleComplex:
        """Multiply columns [column, node] by the matrix, some rows a core."""
        rows = len(self.transposed)
        step = max(-(-rows // self.threads), _FEWEST_ROWS)
        parts = [slice(start, start + step) for start in range(0, rows, step)]
        return np.concatenate(
            side_by_side(lambda part: columns @ self.transposed[:, part], parts, self.threads), axis=1
        )


@dataclass(frozen=True, eq=False)
class Equations:
    """All of a surface that does not change with frequency, ready for any."""

    part: Part
    moving: Indices  # triangles of the part that any source moves, in any of its images
    coupling_from_1_m: float  # wavenumber of the lowest resonance that a closed inside could have
    threads: int

    @cached_property
    def _tables(self) -> tuple[Points, Tests, list[tuple[slice, Chunk]]]:
        points, tests = tables(self.part.elements)
        return points, tests, chunks(self.part.elements)

    @cached_property
    def _corrections(self) -> list[Correction]:
        return corrections(self.part, self.moving, self.threads)

    def prepare(self) -> None:
        """Work out all that every frequency shares."""
        _ = self._tables, self._corrections

    def coupling_m(self, wavenumber_1_m: float) -> float:
        """Burton-Miller coupling is -j times this: 0.4/k, less and less below resonances of the inside.

        There none is needed, and it would let errors of the large reactive pressure into the small real one.
        """
        needed = 1 / (1 + (self.coupling_from_1_m / wavenumber_1_m) ** 2)
        return _COUPLING / wavenumber_1_m * needed**2

    def operators(self, wavenumber_1_m: float, parities: FloatArray) -> Iterable[Operator]:
        """Make the left sides of some parities ready, [parity, 3]."""
        return self.dense(wavenumber_1_m, parities)

    def memory_bytes(self, parities: int) -> float:
        """Memory that a solve of so many parities takes."""
        return _MATRIX_AND_MORE * 8 * parities * len(self.part.elements.place_m) ** 2

    def watched(self, _doing: str) -> AbstractContextManager[None]:
        """Nothing can be lost half way."""
        return nullcontext()

    def dense(self, wavenumber_1_m: float, parities: FloatArray) -> list[DenseOperator]:
        """Fill a matrix a parity. Images whose signs differ alike are summed once, then all are mixed."""
        signs = np.array([self.part.character(parity) for parity in parities])
        mixing, kind = np.unique(signs * signs[0], axis=1, return_inverse=True)
        nodes = len(self.part.elements.place_m)
        # written at once: memory that several threads are the first to touch costs more than filling it
        matrices = [np.full((nodes, nodes), 0, dtype=np.complex64) for _ in mixing.T]
        images = zip(self.part.mirrors, signs[0], self._corrections, strict=True)
        for image, matrix in zip(images, (matrices[each] for each in np.ravel(kind)), strict=True):
            self._add_image(wavenumber_1_m, image, matrix)
        _add(matrices[np.ravel(kind)[0]], 0.5 * self.part.elements.mass_m2)
        self._mix(mixing.astype(np.float32), matrices)
        made = []
        for parity, matrix in zip(parities, matrices, strict=False):
            still = self.part.still(parity)
            matrix[still], matrix[:, still] = 0.0, 0.0
            matrix[still, still] = 1.0
            made.append(DenseOperator(matrix, self.threads))
        return made

    def _add_image(
        self, wavenumber_1_m: float, image: tuple[FloatArray, float, Correction], matrix: SingleComplex
    ) -> None:
        """Add what one image of the part sends."""
        mirror, sign, near = image
        points, tests, parts = self._tables
        coupling = self.coupling_m(wavenumber_1_m)
        wave = _wave(wavenumber_1_m, coupling, mirror, sign)
        needed = room_needed(chunk for _, chunk in parts)
        rooms = [np.empty(needed, dtype=np.float32) for _ in range(self.threads)]

        def fill(part: tuple[slice, Chunk]) -> None:
            room = rooms.pop()  # memory of their own that threads take and give back goes through the system
            assemble(points, tests, part[1], wave, room, matrix[part[0]])
            rooms.append(room)

        side_by_side(fill, parts, self.threads)
        table = -near.double - 1j * coupling * (near.curls - wavenumber_1_m**2 * near.normals)
        _add(matrix, sign * table)

    def _mix(self, mixing: NDArray[np.float32], matrices: list[SingleComplex]) -> None:
        """Turn sums of images into matrices of parities, [parity, sum], in place; there are as many sums or more."""
        if len(matrices) == 1:
            return

        def mix(rows: slice) -> None:
            mixed = np.tensordot(mixing, np.stack([matrix[rows] for matrix in matrices]), axes=1)
            for own, matrix in zip(mixed, matrices, strict=False):
                matrix[rows] = own

        side_by_side(mix, [part for part, _ in self._tables[2]], self.threads)

    def right_side(self, wavenumber_1_m: float, parity: FloatArray, slope: FloatArray) -> ComplexArray:
        """Work out what sources of slope `slope` [triangle, source] send to the nodes, [node, source]."""
        elements = self.part.elements
        points = self._tables[0]
        coupling = self.coupling_m(wavenumber_1_m)
        flow = elements.to_edges(slope * elements.area_m2[:, None])
        potential = np.zeros((slope.shape[1], 2, points.area.size), dtype=np.float32)
        for mirror, sign, _ in self._images(parity):
            wave = _wave(wavenumber_1_m, coupling, mirror, sign)

            def send(source: int, wave: Wave = wave) -> None:
                moving = np.flatnonzero(flow[:, source])
                place = np.ascontiguousarray(points.place[:, moving])
                radiate(points, place, flow[moving, source].astype(np.float32), wave, potential[source])

            side_by_side(send, range(slope.shape[1]), self.threads)
        edges = len(elements.ends)
        sent: ComplexArray = elements.to_nodes @ (potential[:, 0, :edges] + 1j * potential[:, 1, :edges]).T
        return self._with_close_share(wavenumber_1_m, parity, slope, sent)

    def _with_close_share(
        self, wavenumber_1_m: float, parity: FloatArray, slope: FloatArray, sent: ComplexArray
    ) -> ComplexArray:
        """Add what close sources and a node's own triangles send beyond the rule."""
        elements = self.part.elements
        beta = -1j * self.coupling_m(wavenumber_1_m)
        total = sent.astype(np.complex128)
        for _, sign, near in self._images(parity):
            close: ComplexArray = (near.source + beta * near.source_slope) @ slope
            total -= sign * close
        own = np.repeat(slope * elements.area_m2[:, None] / 6, 3, axis=0)
        np.add.at(total, elements.triangle.ravel(), -beta * own)
        total[self.part.still(parity)] = 0.0
        return total

    def far_field(
        self, wavenumber_1_m: float, pressure: ComplexArray, slope: FloatArray, unit: FloatArray
    ) -> ComplexArray:
        """Far field of the part alone, without its images, about the middle, [direction, source]."""
        elements = self.part.elements
        edges = len(elements.ends)
        place = np.ascontiguousarray(self._tables[0].place[:, :edges])
        area = elements.to_edges(elements.vector_area_m2)
        at_edges = np.asarray(elements.to_nodes.T @ pressure)
        flow = elements.to_edges(slope * elements.area_m2[:, None])
        pushed = 1j * wavenumber_1_m * area.T[:, :, None] * at_edges  # along each axis
        sent = np.concatenate([-flow, *pushed], axis=1).astype(
            np.complex64
        )  # one pass over the phases for all
        found = np.empty((len(unit), slope.shape[1]), dtype=np.complex128)

        def work(start: int) -> None:
            block = slice(start, start + _DIRECTIONS_AT_ONCE)
            phase = np.empty((len(unit[block]), edges), dtype=np.complex64)
            phases(place, unit[block].astype(np.float32), np.float32(wavenumber_1_m), phase)
            still, *along = np.split(phase @ sent, 4, axis=1)
            found[block] = still + sum(unit[block, axis, None] * part for axis, part in enumerate(along))

        side_by_side(work, range(0, len(unit), _DIRECTIONS_AT_ONCE), self.threads)
        return found / (4 * np.pi)

    def _images(self, parity: FloatArray) -> list[tuple[FloatArray, float, Correction]]:
        character = self.part.character(parity)
        return list(zip(self.part.mirrors, character, self._corrections, strict=True))


def _wave(wavenumber_1_m: float, coupling_m: float, mirror: FloatArray, sign: float) -> Wave:
    return Wave(
        np.float32(wavenumber_1_m), np.float32(coupling_m), mirror.astype(np.float32), np.float32(sign)
    )


def _add(transposed: SingleComplex, table: csr_array) -> None:
    """Add a sparse table of rows and columns to a matrix that is kept transposed."""
    entries = table.tocoo()
    transposed[entries.col, entries.row] += entries.data.astype(np.complex64)
