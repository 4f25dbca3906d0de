"""forehear: hear a loudspeaker beforehand, from one design file, at every seat of the room.

>>> import forehear
>>> sorted(forehear.__all__)
['Complaints', 'ForehearError', 'load', 'predict']
"""

from typing import TYPE_CHECKING, Any

from forehear.ground.errors import Complaints, ForehearError

if TYPE_CHECKING:
    from forehear.design import load
    from forehear.spine import predict

__all__ = ["Complaints", "ForehearError", "load", "predict"]

_HOMES = {"load": "forehear.design", "predict": "forehear.spine"}


def __getattr__(name: str) -> Any:  # noqa: ANN401 - a module attribute can be anything
    """Bring in what is heavy only once it is asked for."""
    if name not in _HOMES:
        raise AttributeError(f"module 'forehear' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOMES[name]), name)
