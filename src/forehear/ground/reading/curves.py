"""Measured curves from plain delimited text. The content decides; no file ending has a meaning.

Columns are frequency in Hz, a value (level in dB, or ohm), and optionally phase in degrees. Between points a
curve is a straight line over the logarithm of frequency; beyond its ends it is nothing.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from forehear.ground.arrays import FloatArray, locked
from forehear.ground.errors import DataError, DesignError
from forehear.ground.reading.documents import read_bytes

LARGEST_BYTES = 5_000_000
FEWEST_POINTS = 8  # fewer cannot describe even one octave at third-octave spacing
LARGEST_MAGNITUDE = 1e6
LARGEST_LEVEL_DB = 300.0  # no sound in air comes near it
COMMENT_SIGNS = ("#", ";", "*", "!", "//")
_POINT = re.compile(
    r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,3})?|[-+]?(?:nan|inf(?:inity)?)", re.IGNORECASE
)
_COMMA = re.compile(r"[-+]?(?:\d+,?\d*|,\d+)(?:[eE][-+]?\d{1,3})?|[-+]?(?:nan|inf(?:inity)?)", re.IGNORECASE)
_SEPARATORS = (
    r"\s*;\s*",
    r"\s*\t\s*",
    r"\s+",
    r",\s+",
    r",",
)  # tried in this order on the first line of numbers


@dataclass(frozen=True, eq=False)
class Curve:
    """A measured curve.

    Attributes
    ----------
    frequency_hz
        [point], rising. [Hz]
    value
        [point]; level [dB] or magnitude [ohm], as the file that names it says.
    phase_deg
        [point], or None when the file has two columns. [deg]
    source
        Where it came from, for messages.
    """

    frequency_hz: FloatArray
    value: FloatArray
    phase_deg: FloatArray | None
    source: str

    def __post_init__(self) -> None:
        locked(self, "frequency_hz", (-1,), "points")
        locked(self, "value", self.frequency_hz.shape, "points")
        if self.phase_deg is not None:
            locked(self, "phase_deg", self.frequency_hz.shape, "points")

    def covers(self, lowest_hz: float, highest_hz: float) -> bool:
        """Tell whether the curve reaches from `lowest_hz` to `highest_hz`."""
        slack = 1 + 1e-9  # a grid computed in floats may end a hair beyond a printed frequency
        return bool(self.frequency_hz[0] <= lowest_hz * slack and highest_hz <= self.frequency_hz[-1] * slack)

    def require_cover(self, lowest_hz: float, highest_hz: float) -> None:
        """Raise a DataError when the curve does not reach over the band wanted."""
        if not self.covers(lowest_hz, highest_hz):
            raise DataError(
                f"the curve runs from {self.frequency_hz[0]:.4g} Hz to {self.frequency_hz[-1]:.4g} Hz, "
                f"but {lowest_hz:.4g} Hz to {highest_hz:.4g} Hz are needed",
                where=self.source,
                cure="measure over the whole band, or leave the curve out",
            )

    def at(self, frequency_hz: FloatArray) -> "Curve":
        """Return the curve at other frequencies: straight lines over log frequency, never beyond the ends."""
        self.require_cover(float(np.min(frequency_hz)), float(np.max(frequency_hz)))
        here, wanted = np.log(self.frequency_hz), np.log(frequency_hz)
        phase = None
        if self.phase_deg is not None:
            phase = np.interp(wanted, here, np.unwrap(self.phase_deg, period=360.0))
        return Curve(np.asarray(frequency_hz), np.interp(wanted, here, self.value), phase, self.source)


def read_curve(path: Path, label: str | None = None, *, above_zero: bool = False) -> Curve:
    """Read a curve from a text file.

    Parameters
    ----------
    path
        The file.
    label
        Its name in messages.
    above_zero
        True for magnitudes, which must be above zero.

    Raises
    ------
    DataError
        With the line that cannot be used.
    """
    label = label or path.name
    return curve_from_text(_decoded(path, label), label, above_zero=above_zero)


def curve_from_text(text: str, label: str, *, above_zero: bool = False) -> Curve:
    r"""Read a curve from text; see `read_curve`.

    Examples
    --------
    >>> lines = [f"{100 * n}; 80,{n}" for n in range(1, 10)]
    >>> curve = curve_from_text("# invented\n" + "\n".join(lines), "demo")
    >>> float(curve.value[0]), curve.frequency_hz.size
    (80.1, 9)
    """
    rows = []
    last_hz, columns = 0.0, 0
    for number, row in _rows(text, label):
        where = f"{label}:{number}"
        _check_row(row, last_hz, where, above_zero=above_zero)
        if columns and len(row) != columns:
            raise DataError(
                f"{len(row)} columns here, {columns} in the lines before",
                where=where,
                cure="give every line the same columns",
            )
        last_hz, columns = row[0], len(row)
        rows.append(row)
    if len(rows) < FEWEST_POINTS:
        found = f"only {len(rows)} lines" if rows else "no line"
        raise DataError(
            f"{found} of two or three numbers found; at least {FEWEST_POINTS} are needed",
            where=f"{label}:1",
            cure="write frequency, value and perhaps phase on each line",
        )
    table = np.array(rows)
    return Curve(table[:, 0], table[:, 1], table[:, 2] if columns == 3 else None, label)


def _decoded(path: Path, label: str) -> str:
    try:
        data = read_bytes(path, label, LARGEST_BYTES)
    except DesignError as error:
        raise DataError(error.what, where=error.where, cure=error.cure) from None
    return curve_text(data, label)


def curve_text(data: bytes, label: str) -> str:
    """Return the bytes of a curve as text, whatever the measuring program wrote it in.

    Raises
    ------
    DataError
        When they are no text.
    """
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return data.decode("utf-16", errors="replace")
    zero = data.find(b"\0")
    if zero >= 0:
        line = data[:zero].count(b"\n") + 1
        raise DataError(
            "this is not a text file", where=f"{label}:{line}", cure="export the curve as plain text"
        )
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")  # a degree sign in a header; the numbers read the same


def _rows(text: str, label: str) -> Iterator[tuple[int, list[float]]]:
    """Give the lines that hold numbers. Other lines may come before the first of them, never after."""
    separator = ""
    for number, line in enumerate(text.splitlines(), start=1):
        bare = line.strip()
        if not bare or bare.startswith(COMMENT_SIGNS):
            continue
        choices = (separator,) if separator else _SEPARATORS
        found = next(((choice, row) for choice in choices if (row := _numbers(bare, choice))), None)
        if found:
            separator, row = found
            yield number, row
        elif separator or _looks_like_numbers(bare):
            raise DataError(
                f"cannot read {bare[:40]!r} as two or three numbers",
                where=f"{label}:{number}",
                cure="separate columns by tab, space, semicolon or comma, and keep to one way",
            )


def _numbers(line: str, separator: str) -> list[float] | None:
    """Split a line one way; None unless it gives two or three numbers."""
    cells = re.split(separator, line.rstrip("; \t"))
    if not 2 <= len(cells) <= 3:
        return None
    if all(_POINT.fullmatch(cell) for cell in cells):
        return [float(cell) for cell in cells]
    if not separator.startswith(",") and all(_COMMA.fullmatch(cell) for cell in cells):
        return [float(cell.replace(",", ".")) for cell in cells]
    return None


def _looks_like_numbers(line: str) -> bool:
    cells = [cell for cell in re.split(r"[\s;,]+", line) if cell]
    return len(cells) > 1 and all(_POINT.fullmatch(cell) for cell in cells)


def _check_row(row: list[float], last_hz: float, where: str, *, above_zero: bool) -> None:
    frequency_hz, value = row[0], row[1]
    if not all(math.isfinite(cell) for cell in row):
        raise DataError(
            "a value here is not a number", where=where, cure="delete the line, or measure it again"
        )
    if not 0 < frequency_hz < 1e7:
        raise DataError(
            f"{frequency_hz:g} Hz is not a frequency that can be used", where=where, cure="delete the line"
        )
    if frequency_hz <= last_hz:
        raise DataError(
            f"{frequency_hz:g} Hz comes after {last_hz:g} Hz",
            where=where,
            cure="sort the lines by rising frequency",
        )
    if above_zero and value <= 0:
        raise DataError(f"a magnitude of {value:g} is not above zero", where=where, cure="delete the line")
    largest = LARGEST_MAGNITUDE if above_zero else LARGEST_LEVEL_DB
    if abs(value) > largest or abs(row[-1]) > LARGEST_MAGNITUDE:
        raise DataError(
            f"{value:g} is far outside what a curve can hold", where=where, cure="check the columns"
        )
