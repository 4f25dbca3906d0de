"""What of a picture is in view: while a hand moves only that is solved and sent, the rest when it rests."""

from enum import StrEnum
from typing import TypeAlias


class Part(StrEnum):
    """One part of a picture, by the name that pages give it."""

    SEATS = "seats"  # what every seat hears
    DIRECT = "direct"  # what reaches every seat straight, without the room
    HORIZONTAL = "horizontal"  # the level all around on this orbit
    VERTICAL = "vertical"
    CURVES = "curves"  # the standard curves
    NETWORK = "network"  # the network, its voltages, each way on axis, and the impedance


Sight: TypeAlias = frozenset[Part]
WHOLE: Sight = frozenset(Part)
ORBITS: Sight = frozenset({Part.HORIZONTAL, Part.VERTICAL})
