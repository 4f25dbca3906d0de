"""The state of an open folder: documents, history, what is kept, and what is kept aside.

Nothing here waits or knows of pages; one thread at a time calls it.
"""

import secrets
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from time import monotonic
from typing import Any

from forehear.app.desk.folder import Folder
from forehear.app.desk.picture import changes_since
from forehear.design import Change, Design, load
from forehear.ground.errors import Complaints, DesignError, ForehearError
from forehear.ground.reading.documents import Document
from forehear.parts import DriverPart

TOGETHER_S = 0.5  # changes of one group within this time are one step of undo
MOST_STEPS = 500


class ChangedOnDisk(Exception):
    """Files changed on disk after they were read; the user must say which version to keep."""

    def __init__(self, files: Sequence[str]) -> None:
        super().__init__(", ".join(files))
        self.files = tuple(files)


@dataclass(frozen=True, eq=False)
class State:
    """What undo goes back to: every document, and driver files and curves that are not written yet."""

    candidate: str
    documents: Mapping[str, Document]
    parts: Mapping[str, DriverPart]
    curves: Mapping[str, str]

    def with_document(self, name: str, document: Document) -> "State":
        """Return the state with one document in another version."""
        return replace(self, documents={**self.documents, name: document})

    def texts(self) -> dict[str, str]:
        """Return everything that would be written, by name."""
        drivers = {name: part.document.source for name, part in self.parts.items()}
        return {**self.curves, **drivers, **{name: doc.source for name, doc in self.documents.items()}}


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
        self.revision = 1
        self.work = secrets.token_hex(8)
        self.kept: Design | None = None
        self.other: str | None = None
        self._base: dict[str, str] = {}
        self._loaded: dict[str, Design] = {folder.first: first}
        self._built: dict[str, Design] = {folder.first: first}
        documents = {folder.brief: first.brief.document}
        for name in folder.candidates:
            documents[name] = (
                first.document if name == folder.first else Document.read(folder.inside(name), name)
            )
        self._base.update({name: document.source for name, document in documents.items()})
        self.now = State(folder.first, documents, {}, {})
        self._undo: list[State] = []
        self._redo: list[State] = []
        self._last_group: tuple[str, float] = ("", 0.0)

    # --- looking ---

    def view(self) -> View:
        """Return what is to be shown now."""
        design = self.design()
        return View(
            self.revision,
            design,
            self.kept,
            self.design(self.other) if self.other else None,
            self._state(design),
        )

    def design(self, name: str | None = None) -> Design:
        """Return a candidate as it stands now, saved or not."""
        name = name or self.now.candidate
        built = self._build(self.now, name)
        self._built[name] = built
        return built

    def unsaved_files(self) -> list[str]:
        """List the files that differ from what was read or written last."""
        return [name for name, text in self.now.texts().items() if self._base.get(name) != text]

    def _state(self, design: Design) -> dict[str, Any]:
        return {
            "revision": self.revision,
            "work": self.work,
            "candidate": self.now.candidate,
            "candidates": [{"file": name, "title": self._title(name)} for name in self.folder.candidates],
            "other": self.other,
            "unsaved": bool(self.unsaved_files()),
            "can_undo": bool(self._undo),
            "can_redo": bool(self._redo),
            "kept": self.kept is not None,
            "kept_candidate": self.kept.document.label if self.kept else None,
            "changes": changes_since(self.kept, design) if self.kept else [],
        }

    def _title(self, name: str) -> str:
        return str(self.now.documents[name].plain().get("design", name))

    def _build(self, state: State, name: str) -> Design:
        """Build one candidate of a state; what did not change since the last time is not read again."""
        if name not in self.folder.candidates:
            raise DesignError(
                f"there is no candidate {name!r}", cure=f"name one of {', '.join(self.folder.candidates)}"
            )
        base = self._built.get(name) or self._loaded.get(name)
        if base is None:
            base = self._loaded[name] = load(self.folder.inside(name))
        document = state.documents[name]
        brief = state.documents[self.folder.brief]
        disk = {driver.part.document.label: driver.part for driver in self._loaded.get(name, base).drivers}
        wanted = {**disk, **state.parts}
        used = {driver.part.document.label: driver.part for driver in base.drivers}
        parts_same = all(wanted.get(label, part) is part for label, part in used.items())
        if document is base.document and brief is base.brief.document and parts_same:
            return base
        return base.with_documents(document, brief, tuple(wanted.values()))

    # --- changing ---

    def change(self, changes: Sequence[tuple[str, Change]], group: str) -> None:
        """Write values into the shown design and its brief."""
        state = self.now
        for file, name in (("design", state.candidate), ("brief", self.folder.brief)):
            own = [change for where, change in changes if where == file]
            if own:
                state = state.with_document(name, state.documents[name].with_changes(own))
        self._take(state, group)

    def edit(self, make: Callable[[Document], Document]) -> None:
        """Change the structure of the shown design's file."""
        name = self.now.candidate
        self._take(self.now.with_document(name, make(self.now.documents[name])), "")

    def take_part(self, part: DriverPart, curves: Mapping[str, str]) -> None:
        """Let a driver file that is not written yet, with its curves, take the place of the one on disk."""
        name = part.document.label
        state = replace(self.now, parts={**self.now.parts, name: part}, curves={**self.now.curves, **curves})
        self._base.setdefault(name, self.folder.on_disk(name) or "")
        self._take(state, "")

    def undo(self) -> None:
        """Go one step back."""
        self._go(self._undo, self._redo, "there is nothing to undo")

    def redo(self) -> None:
        """Go one step forward again."""
        self._go(self._redo, self._undo, "there is nothing to redo")

    def select(self, name: str) -> None:
        """Show another candidate."""
        self._take_candidate(name)
        if self.other == name:
            self.other = None

    def compare(self, name: str | None) -> None:
        """Show a second candidate beside the first, or none."""
        if name is not None:
            self.design(name)
        self.other = name if name != self.now.candidate else None
        self._step()

    def keep(self) -> None:
        """Keep the shown design as A."""
        self.kept = self.design()
        self._step()

    def unkeep(self) -> None:
        """Let A go."""
        self.kept = None
        self._step()

    def back_to(self, state: State) -> None:
        """Return to a state that could be solved, as if what came after had been refused."""
        self.now = state
        if self._undo and self._undo[-1] is state:
            self._undo.pop()
        self._step()

    def _take(self, state: State, group: str) -> None:
        """Make a state the newest, if it can be built; otherwise nothing changes."""
        self._built[state.candidate] = self._build(state, state.candidate)
        before, moment = self._last_group, monotonic()
        together = (
            bool(group) and before[0] == group and moment - before[1] <= TOGETHER_S and bool(self._undo)
        )
        if not together:
            self._undo = [*self._undo[-MOST_STEPS:], self.now]
        self._last_group = (group, moment)
        self._redo = []
        self.now = state
        self._step()

    def _take_candidate(self, name: str) -> None:
        self._build(self.now, name)
        self.now = replace(self.now, candidate=name)
        self._last_group = ("", 0.0)
        self._step()

    def _go(self, source: list[State], target: list[State], nothing: str) -> None:
        if not source:
            raise DesignError(nothing)
        target.append(self.now)
        self.now = source.pop()
        self._last_group = ("", 0.0)
        self._step()

    def _step(self) -> None:
        self.revision += 1

    # --- the disk ---

    def changed_on_disk(self) -> list[str]:
        """List the files that somebody else changed since they were read or written here."""
        texts = self.now.texts()
        return [
            name
            for name, base in self._base.items()
            if name in texts and (found := self.folder.on_disk(name)) != base and found != texts[name]
        ]

    def save(self, *, anyway: bool = False) -> list[str]:
        """Write what changed: curves, then driver files, brief and designs; return the names written."""
        texts, unsaved = self.now.texts(), self.unsaved_files()
        changed = [name for name in self.changed_on_disk() if name in unsaved]
        changed += [
            name
            for name in unsaved
            if name not in self._base and self.folder.on_disk(name) not in (None, texts[name])
        ]
        if changed and not anyway:
            raise ChangedOnDisk(changed)
        for name in unsaved:
            self.folder.write(name, texts[name])
            self._base[name] = texts[name]
        self._step()
        return unsaved

    def reload(self) -> None:
        """Take every file from disk; undo brings back what was here."""
        found = {name: self.folder.on_disk(name) for name in self.now.documents}
        documents = {
            name: document
            if (text := found[name]) is None or text == document.source
            else Document.from_text(text, document.path, document.label)
            for name, document in self.now.documents.items()
        }
        self._loaded, built, self._built = {}, self._built, {}
        try:
            self._take(replace(self.now, documents=documents, parts={}, curves={}), "")
        except (ForehearError, Complaints):
            self._built = built
            raise
        self._base.update({name: text for name, text in found.items() if text is not None})
