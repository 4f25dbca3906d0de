"""Unsaved work kept aside in the user's state folder, and offered back after a restart."""

import json
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from forehear.app.desk.curves_in import part_with
from forehear.app.desk.folder import Folder
from forehear.app.desk.workbench import Workbench
from forehear.ground.errors import DesignError
from forehear.ground.files import write_privately
from forehear.ground.reading.documents import Document

FORMAT = "forehear-aside/1"
LARGEST_BYTES = 20_000_000


class Aside:
    """What is kept aside for one folder. What an earlier session left stays until it is restored or forgotten."""

    def __init__(self, folder: Folder) -> None:
        self._path = folder.aside
        self._written: str | None = None
        self.earlier: list[dict[str, Any]] = _read(folder)

    def offered(self) -> dict[str, Any] | None:
        """Say what may be restored."""
        if not self.earlier:
            return None
        newest = self.earlier[0]
        return {"kind": "asked", "question": "kept aside", "files": sorted(newest["texts"])}

    def matches(self, work: str) -> bool:
        """Tell whether what is offered is the work that a page had before the server was started again."""
        return bool(self.earlier) and self.earlier[0].get("work") == work

    def write(self, bench: Workbench) -> None:
        """Write unsaved work, or take the file away when there is none."""
        now = _as_plain(bench)
        every = [*([now] if now else []), *self.earlier]
        text = json.dumps({"format": FORMAT, "folder": str(bench.folder.path), "work": every})
        if text == self._written:
            return
        if every:
            write_privately(self._path, text)
        else:
            self._path.unlink(missing_ok=True)
        self._written = text

    def restore(self, bench: Workbench) -> None:
        """Bring the offered work back; undo takes it away again."""
        if not self.earlier:
            raise DesignError("nothing is kept aside", cure="go on from what is shown")
        _restore(bench, self.earlier[0])
        self.earlier = self.earlier[1:]

    def forget(self) -> None:
        """Let the offered work go."""
        self.earlier = self.earlier[1:]


def _read(folder: Folder) -> list[dict[str, Any]]:
    """Read what an earlier session left; a damaged file holds nothing that could be offered."""
    try:
        if folder.aside.stat().st_size > LARGEST_BYTES:
            return []
        found = json.loads(folder.aside.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return []
    work = found.get("work") if isinstance(found, dict) and found.get("format") == FORMAT else None
    return [entry for entry in work if _whole(entry)] if isinstance(work, list) else []


def _whole(entry: object) -> bool:
    if not isinstance(entry, dict) or not isinstance(entry.get("candidate"), str):
        return False
    groups = (entry.get("texts"), entry.get("base"), entry.get("curves"))
    return all(
        isinstance(group, dict) and all(isinstance(text, str) for text in group.values()) for group in groups
    )


def _as_plain(bench: Workbench) -> dict[str, Any] | None:
    """Return unsaved work as plain data; None when everything is on disk and nothing is kept as A."""
    now = bench.history.now
    unsaved, texts, kept = bench.unsaved(), now.texts(), bench.kept
    if not unsaved and kept is None:
        return None
    return {
        "work": bench.work,
        "candidate": now.candidate,
        "texts": {name: texts[name] for name in unsaved if name not in now.curves},
        "base": {name: base for name in unsaved if (base := bench.disk.base(name)) is not None},
        "curves": dict(now.curves),
        "other": bench.other,
        "kept": None
        if kept is None
        else {
            "candidate": kept.document.label,
            "text": kept.document.source,
            "brief": kept.brief.document.source,
        },
    }


def _restore(bench: Workbench, entry: Mapping[str, Any]) -> None:
    now = bench.history.now
    documents, parts = dict(now.documents), dict(now.parts)
    for name, text in entry["texts"].items():
        path = bench.folder.inside(name)
        if name in documents:
            documents[name] = Document.from_text(text, path, name)
        else:
            parts[name] = part_with(Document.from_text(text, path, name), entry["curves"])
    candidate = entry["candidate"] if entry["candidate"] in documents else now.candidate
    state = replace(now, candidate=candidate, documents=documents, parts=parts, curves=dict(entry["curves"]))
    kept = entry.get("kept")
    bench.restore(state, entry["base"], entry.get("work"))
    if isinstance(kept, dict) and kept.get("candidate") in documents:
        design = bench.design(kept["candidate"])
        document, brief = design.document, design.brief.document
        bench.keep(
            design.with_documents(
                Document.from_text(str(kept.get("text")), document.path, document.label),
                Document.from_text(str(kept.get("brief")), brief.path, brief.label),
            )
        )
    other = entry.get("other")
    if isinstance(other, str) and other in documents:
        bench.compare(other)
