"""An open folder: its designs, their history, what is kept as A. Nothing here waits or knows of pages.

One thread at a time calls it.
"""

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from forehear.app.desk.disk import Disk
from forehear.app.desk.folder import Folder
from forehear.app.desk.history import History, State
from forehear.app.desk.picture import changes_since
from forehear.design import Change, Design, load
from forehear.ground.errors import DesignError
from forehear.ground.reading.documents import Document
from forehear.parts import DriverPart


@dataclass(frozen=True, eq=False)
class View:
    """What is to be shown."""

    revision: int
    design: Design
    kept: Design | None
    other: Design | None
    state: dict[str, Any]


class Workbench:
    """One folder, open."""

    def __init__(self, folder: Folder, first: Design) -> None:
        self.folder = folder
        self.work = secrets.token_hex(8)  # names this line of work, over restarts too
        self.kept: Design | None = None
        self.other: str | None = None
        self._loaded: dict[str, Design] = {folder.first: first}  # with the driver files as they stand on disk
        self._built: dict[str, Design] = {folder.first: first}  # the newest of each candidate
        documents = {folder.brief: first.brief.document}
        for name in folder.candidates:
            known = name == folder.first
            documents[name] = first.document if known else Document.read(folder.inside(name), name)
        self.disk = Disk(folder)
        self.disk.knows({name: document.source for name, document in documents.items()})
        self.history = History(State(folder.first, documents, {}, {}))

    # --- looking ---

    def view(self) -> View:
        """Return what is to be shown now."""
        design = self.design()
        other = self.design(self.other) if self.other else None
        return View(self.history.revision, design, self.kept, other, self._state(design))

    def design(self, name: str | None = None) -> Design:
        """Return a candidate as it stands now, saved or not; without a name the one shown."""
        name = name or self.history.now.candidate
        self._built[name] = built = self._build(self.history.now, name)
        return built

    def unsaved(self) -> list[str]:
        """List the files that a save would write."""
        return self.disk.unsaved(self.history.now.texts())

    def _state(self, design: Design) -> dict[str, Any]:
        now = self.history.now
        titles = {name: now.documents[name].plain().get("design", name) for name in self.folder.candidates}
        return {
            "revision": self.history.revision,
            "work": self.work,
            "candidate": now.candidate,
            "candidates": [{"file": name, "title": str(title)} for name, title in titles.items()],
            "other": self.other,
            "unsaved": bool(self.unsaved()),
            "can_undo": self.history.can_undo,
            "can_redo": self.history.can_redo,
            "kept": self.kept is not None,
            "kept_candidate": self.kept.document.label if self.kept else None,
            "changes": changes_since(self.kept, design) if self.kept else [],
        }

    def _build(self, state: State, name: str) -> Design:
        """Build one candidate of a state; what did not change since the last time is not read again."""
        if name not in self.folder.candidates:
            known = ", ".join(self.folder.candidates)
            raise DesignError(f"there is no candidate {name[:40]!r}", cure=f"name one of {known}")
        if name not in self._loaded:
            self._loaded[name] = load(self.folder.inside(name))
        base = self._built.get(name) or self._loaded[name]
        document, brief = state.documents[name], state.documents[self.folder.brief]
        disk = {driver.part.document.label: driver.part for driver in self._loaded[name].drivers}
        wanted = {**disk, **state.parts}
        same = all(wanted.get(one.part.document.label, one.part) is one.part for one in base.drivers)
        if document is base.document and brief is base.brief.document and same:
            return base
        return base.with_documents(document, brief, tuple(wanted.values()))

    # --- changing ---

    def change(self, changes: Sequence[tuple[str, Change]], group: str) -> None:
        """Write values into the shown design and its brief."""
        state = self.history.now
        for file, name in (("design", state.candidate), ("brief", self.folder.brief)):
            own = [change for where, change in changes if where == file]
            if own:
                state = state.with_document(name, state.documents[name].with_changes(own))
        self._take(state, group)

    def edit(self, make: Callable[[Document], Document]) -> None:
        """Change the structure of the shown design's file."""
        now = self.history.now
        self._take(now.with_document(now.candidate, make(now.documents[now.candidate])))

    def take_part(self, part: DriverPart, curves: Mapping[str, str]) -> None:
        """Let a driver file that is not written yet, with its curves, take the place of the one on disk."""
        now, name = self.history.now, part.document.label
        if self.disk.base(name) is None:
            self.disk.knows(self.disk.texts([name]))
        self._take(replace(now, parts={**now.parts, name: part}, curves={**now.curves, **curves}))

    def select(self, name: str) -> None:
        """Show another candidate."""
        self._build(self.history.now, name)
        self.other = None if self.other == name else self.other
        self.history.show(replace(self.history.now, candidate=name))

    def compare(self, name: str | None) -> None:
        """Show a second candidate beside the first, or none."""
        if name is not None:
            self.design(name)
        self.other = None if name == self.history.now.candidate else name
        self.history.show(self.history.now)

    def keep(self, design: Design | None) -> None:
        """Keep a design as A, or none any more."""
        self.kept = design
        self.history.show(self.history.now)

    def _take(self, state: State, group: str = "") -> None:
        """Make a state the newest, if it can be built; otherwise nothing changes."""
        self._built[state.candidate] = self._build(state, state.candidate)
        self.history.take(state, group)

    # --- the disk ---

    def save(self, *, anyway: bool = False) -> None:
        """Write what changed."""
        self.disk.save(self.history.now.texts(), anyway=anyway)
        self.history.show(self.history.now)

    def reload(self) -> None:
        """Take every file from disk; undo brings back what was here."""
        now = self.history.now
        texts = self.disk.texts(now.documents)
        documents = {
            name: document
            if texts.get(name, document.source) == document.source
            else Document.from_text(texts[name], document.path, document.label)
            for name, document in now.documents.items()
        }
        before = self._loaded, self._built
        self._loaded, self._built = {}, {}
        try:
            self._take(replace(now, documents=documents, parts={}, curves={}))
        except BaseException:
            self._loaded, self._built = before
            raise
        self.disk.knows(texts)

    def restore(self, state: State, base: Mapping[str, str], work: str | None) -> None:
        """Take a whole state from an earlier session, and what it knew of the disk."""
        self._take(state)
        self.disk.knows(base)
        self.work = work or self.work
