"""How far a network is from its goal, in dB, and the exact slope of that with every part; acoustics are never solved.

All that is judged is a row: unevenness rows, whose squares sum to weighted spreads, and rows of broken limits, which
are zero while the limit is kept. The goal is the root of the sum of squares of all rows.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from forehear.ground.arrays import FloatArray
from forehear.voice.circuit import Answer, Circuit
from forehear.voice.heard import TO_DB, Ear, Judged, level, product_slopes, products

PRESS = 2.0  # how hard a broken limit pushes, over the dB by which it is broken


@dataclass(frozen=True, eq=False)
class Ears:
    """Everything that listens to one speaker, with its weight in the goal."""

    seats: Ear  # [seat]
    around: Ear  # on axis, listening window, then directions to be covered
    seats_judged: Judged
    around_judged: Judged
    seat_weight: float  # square roots of shares of the goal
    axis_weight: float
    window_weight: float
    covered_weight: FloatArray  # [heard]
    fall_db: float
    level_weight: FloatArray  # [heard] of the mean level on axis


@dataclass(frozen=True, eq=False)
class Kept:
    """Limits as rows, each in dB beyond what is allowed; infinite where nothing is asked."""

    impedance_db: float  # 20 lg of the lowest impedance
    level_db: float
    borne: (
        FloatArray  # [strain, frequency] per squared volt at the load of its way: squared excursion, or power
    )
    borne_way: NDArray[np.int_]  # [strain]
    borne_db: FloatArray  # [strain] 10 lg of the most that is borne


@dataclass(frozen=True, eq=False)
class Evaluator:
    """Judges networks of one shape and place."""

    circuit: Circuit
    ears: Ears
    kept: Kept

    def with_polarity(self, polarity: FloatArray) -> "Evaluator":
        """Return the same with some ways turned round."""
        return replace(self, circuit=replace(self.circuit, polarity=polarity))

    @cached_property
    def _way_of(self) -> NDArray[np.int_]:
        return np.array(self.circuit.way_of, dtype=int)

    @cached_property
    def _offset(self) -> FloatArray:
        """What is added to the linear part of every row, [row]."""
        ears, kept = self.ears, self.kept
        seats = np.tile(ears.seat_weight * ears.seats_judged.offset[:, np.newaxis], ears.seats.curves)
        around = ears.around_judged.offset[:, np.newaxis] * [ears.axis_weight, ears.window_weight]
        covered = np.tile((-ears.fall_db * ears.covered_weight)[:, np.newaxis], ears.around.curves - 2)
        drawn = np.full(len(self.circuit.frequency_hz), PRESS * kept.impedance_db)
        borne = -PRESS * kept.borne_db
        blocks = (seats, around, covered, drawn, np.array([PRESS * kept.level_db]), borne)
        return np.concatenate([np.ravel(block) for block in blocks])

    @cached_property
    def _one_sided(self) -> NDArray[np.bool_]:
        """Which rows count only above zero, [row]."""
        two_sided = len(self.ears.seats_judged.offset) * (self.ears.seats.curves + 2)
        return np.arange(len(self._offset)) >= two_sided

    def _linear(
        self, seats: FloatArray, around: FloatArray, drawn: FloatArray, borne: FloatArray
    ) -> FloatArray:
        """Linear part of every row, [row, build], of levels or of their slopes."""
        ears = self.ears
        builds = seats.shape[-1]
        uneven = ears.seat_weight * np.tensordot(ears.seats_judged.matrix, seats, 1)
        flat = np.tensordot(ears.around_judged.matrix, around[:, :2], 1)
        flat = flat * np.array([ears.axis_weight, ears.window_weight])[:, np.newaxis]
        fallen = (around[:, :1] - around[:, 2:]) * ears.covered_weight[:, np.newaxis, np.newaxis]
        missing = -PRESS * (ears.level_weight @ around[:, 0])
        blocks = (uneven, flat, fallen, PRESS * drawn, missing[np.newaxis], PRESS * borne)
        return np.concatenate([block.reshape(-1, builds) for block in blocks])

    def rows(self, answer: Answer, heard: FloatArray | None = None) -> FloatArray:
        """All rows of many networks, [row, build]; `heard` takes the place of their products."""
        found = products(answer.volts) if heard is None else heard
        seats, around = level(self.ears.seats.energy(found)), level(self.ears.around.energy(found))
        rows = self._linear(seats, around, _drawn_db(answer), TO_DB * np.log(self._borne(found)))
        rows += self._offset[:, np.newaxis]
        return np.where(self._one_sided[:, np.newaxis], np.maximum(rows, 0.0), rows)

    def _borne(self, found: FloatArray) -> FloatArray:
        kept = self.kept
        each = [row @ found[:, way] for row, way in zip(kept.borne, kept.borne_way, strict=True)]
        return np.array(each).reshape(len(kept.borne), found.shape[-1])

    def goals(self, values: FloatArray, losses_ohm: FloatArray) -> FloatArray:
        """Goal of many networks, values and losses [build, part]; [build] [dB]."""
        rows = self.rows(self.circuit.solve(values, losses_ohm))
        found: FloatArray = np.sqrt(np.einsum("rb,rb->b", rows, rows))
        return found

    def rows_and_slopes(self, values: FloatArray, losses_ohm: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Rows of one network and their slopes with the logarithm of each value, [row] and [row, part]."""
        answer, slopes = self.circuit.solve_with_slopes(values, losses_ohm)
        ears, found = self.ears, products(answer.volts)
        changed = product_slopes(answer.volts[0], slopes.volts, self._way_of)
        both = np.concatenate([found, changed], axis=2)  # heard together: one pass through the forms
        seats, around = ears.seats.energy(both), ears.around.energy(both)
        borne, admittance = self._borne(both), answer.admittance_s[0]
        rows = self._linear(
            level(seats[..., :1]), level(around[..., :1]), _drawn_db(answer), TO_DB * np.log(borne[:, :1])
        )[:, 0]
        rows = rows + self._offset
        change = self._linear(
            TO_DB * seats[..., 1:] / seats[..., :1],
            TO_DB * around[..., 1:] / around[..., :1],
            2 * TO_DB * (slopes.admittance_s / admittance).real.T,
            TO_DB * borne[:, 1:] / borne[:, :1],
        )
        idle = self._one_sided & (rows <= 0)
        rows[idle], change[idle] = 0.0, 0.0
        return rows, change

    def goal_and_gradient(self, values: FloatArray, losses_ohm: FloatArray) -> tuple[float, FloatArray]:
        """Goal of one network [dB] and its slope with the logarithm of each value, [part]."""
        rows, change = self.rows_and_slopes(values, losses_ohm)
        goal = float(np.sqrt(rows @ rows))
        return goal, rows @ change / max(goal, 1e-12)


def _drawn_db(answer: Answer) -> FloatArray:
    """20 lg of the admittance, [frequency, build]."""
    found: FloatArray = 2 * TO_DB * np.log(np.abs(answer.admittance_s)).T
    return found
