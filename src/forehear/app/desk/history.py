"""What undo and redo go through: whole states, one after the other."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from time import monotonic

from forehear.ground.errors import DesignError
from forehear.ground.reading.documents import Document
from forehear.parts import DriverPart

TOGETHER_S = 0.5  # changes of one group within this time are one step of undo
DRAG = "drag "  # begins the name of a group that is one drag: one step, however long the hand rests
MOST_STEPS = 500


@dataclass(frozen=True, eq=False)
class State:
    """Every document, by name, and driver files and curves that are not written yet."""

    candidate: str  # the one shown
    documents: Mapping[str, Document]
    parts: Mapping[str, DriverPart]
    curves: Mapping[str, str]

    def with_document(self, name: str, document: Document) -> "State":
        """Return the state with one document in another version."""
        return replace(self, documents={**self.documents, name: document})

    def texts(self) -> dict[str, str]:
        """Return everything that would be written, in the order of writing: what others name comes first."""
        drivers = {name: part.document.source for name, part in self.parts.items()}
        return {**self.curves, **drivers, **{name: doc.source for name, doc in self.documents.items()}}


class History:
    """The newest state, those before it, and those taken back. `revision` grows with whatever is to be seen."""

    def __init__(self, first: State) -> None:
        self.now = first
        self.revision = 1
        self._before: list[State] = []
        self._after: list[State] = []
        self._group, self._moment = "", 0.0

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to go back."""
        return bool(self._before)

    @property
    def can_redo(self) -> bool:
        """Whether there is a step to go forward."""
        return bool(self._after)

    def take(self, state: State, group: str = "") -> None:
        """Make a state the newest; quick changes of one group are one step, and so is all of one drag."""
        moment = monotonic()
        close = group.startswith(DRAG) or moment - self._moment <= TOGETHER_S
        if not (group and group == self._group and close and self._before):
            self._before = [*self._before[1 - MOST_STEPS :], self.now]
        self._group, self._moment = group, moment
        self._after = []
        self.show(state)

    def show(self, state: State) -> None:
        """Make a state the newest without a step of undo."""
        self.now = state
        self.revision += 1

    def undo(self) -> None:
        """Go one step back."""
        if not self._before:
            raise DesignError("there is nothing to undo")
        self._after.append(self.now)
        self._group = ""
        self.show(self._before.pop())

    def redo(self) -> None:
        """Go one step forward again."""
        if not self._after:
            raise DesignError("there is nothing to redo")
        self._before.append(self.now)
        self._group = ""
        self.show(self._after.pop())

    def drop_to(self, state: State) -> None:
        """Go back to a state as if what came after it had been refused."""
        if state in self._before:
            del self._before[self._before.index(state) :]
        self._group = ""
        self.show(state)
