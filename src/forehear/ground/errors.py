"""What can go wrong, as one family.

ForehearError              one complaint: what is wrong, where, and the one action that cures it
├── DesignError            the design, its brief or a part says something unusable
├── DataError              a measured curve or another data file is unusable
├── SurfaceError           a surface to be solved is open, inside out, crosses itself or has drivers off it
├── TooLittleMemory        a solve would need more memory than there is
├── NoGraphicsCard         a solve was to run on a graphics card that is missing or was lost half way
└── OutsideValidity        a formula was asked for something it does not hold for
Complaints                 several of them at once, so that the user mends a file in one go
"""

from collections.abc import Sequence


class ForehearError(Exception):
    """One complaint, readable as it stands.

    Parameters
    ----------
    what
        What is wrong, with the value found and the value allowed.
    where
        File, line, column and key as the user wrote them; empty when there is no file.
    cure
        One action that helps.
    """

    def __init__(self, what: str, *, where: str = "", cure: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.where = where
        self.cure = cure

    def __str__(self) -> str:
        lines = [self.what]
        if self.where:
            lines.append(f"  where  {self.where}")
        if self.cure:
            lines.append(f"  cure   {self.cure}")
        return "\n".join(lines)


class DesignError(ForehearError):
    """The design, its brief or a part file says something unusable."""


class DataError(ForehearError):
    """A measured curve or another data file is unusable."""


class SurfaceError(ForehearError):
    """A surface to be solved is open, inside out, crosses itself or has drivers off it."""


class TooLittleMemory(ForehearError):
    """A solve would need more memory than there is."""


class NoGraphicsCard(ForehearError):
    """A solve was to run on a graphics card that is missing or was lost half way."""


class OutsideValidity(ForehearError):
    """A formula was asked for something it does not hold for."""


class Complaints(Exception):
    """All complaints about one input at once."""

    def __init__(self, errors: Sequence[ForehearError]) -> None:
        super().__init__("\n".join(str(error) for error in errors))
        self.errors = tuple(errors)
