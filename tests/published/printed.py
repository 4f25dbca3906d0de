"""Values as they stand in print, and how far from them a right answer may lie.

A data file holds ``cases``: each with an id, its inputs, the expected values, their tolerance and their
source. Keys of a tolerance: `abs` and `rel` hold for every expected number; `abs_dB` for names that end in
``_dB``, `abs_deg` for names that end in ``_deg`` (compared modulo 360); ``rel_NAME`` and ``NAME_rel`` for
the expected value NAME. Where a table is printed, half a unit of the last printed digit is what rounding
can have taken: `half_last_digit`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import yaml

DATA = Path(__file__).parent / "data"


def half_last_digit(printed: str) -> float:
    """Half a unit in the last printed digit: as much as rounding can have taken."""
    return 0.5 * 10.0 ** int(Decimal(printed).as_tuple().exponent)


def as_printed(name: str) -> Any:  # noqa: ANN401 (a data file has any shape)
    """Read a data file with every value as the text that is printed there."""
    return yaml.load(
        (DATA / name).read_text(encoding="utf-8"), Loader=yaml.BaseLoader
    )  # every scalar stays text


@dataclass(frozen=True)
class Case:
    """One case of a data file."""

    id: str
    inputs: Mapping[str, Any]
    expected: Mapping[str, Any]
    tolerance: Mapping[str, float]
    source: str

    def allowed(self, name: str, value: float) -> float:
        """How far an answer for the expected value `name` may lie from `value`."""
        own = [self.tolerance.get(key) for key in (f"rel_{name}", f"{name}_rel")]
        relative = next((limit for limit in own if limit is not None), self.tolerance.get("rel", 0.0))
        absolute = self.tolerance.get("abs", 0.0)
        for ending in ("dB", "deg"):
            if name.endswith(f"_{ending}"):
                absolute = self.tolerance.get(f"abs_{ending}", absolute)
        return max(absolute, relative * abs(value))

    def check(self, **found: float) -> None:
        """Hold answers against the expected values of the same names."""
        assert found, f"{self.id}: nothing was compared"
        for name, answer in found.items():
            value = float(self.expected[name])
            apart = float(answer) - value
            if name.endswith("_deg"):
                apart = (apart + 180.0) % 360.0 - 180.0
            slack = self.allowed(name, value)
            assert abs(apart) <= slack, (
                f"{self.id}: {name} is {answer}, printed {value}, may be {slack:.3g} off"
            )


def cases(name: str) -> dict[str, Case]:
    """Read the cases of a data file by id."""
    read = yaml.safe_load((DATA / name).read_text(encoding="utf-8"))["cases"]
    kept = ("id", "inputs", "expected", "tolerance", "source")
    return {case["id"]: Case(**{key: case[key] for key in kept}) for case in read}
