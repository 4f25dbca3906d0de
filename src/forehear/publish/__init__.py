"""What leaves the house for people to read: the report, one self-contained page."""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forehear.publish.report import report_page, write_report

__all__ = ["report_page", "write_report"]


def __getattr__(name: str) -> object:
    """Load the report, and with it whatever solves, when it is first asked for: results of listening need neither."""
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.report"), name)
