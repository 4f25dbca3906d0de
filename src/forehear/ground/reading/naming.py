"""Files that a document names: relative to it, inside the design's folder, and there."""

import difflib
import os
from collections.abc import Sequence
from pathlib import Path

from forehear.ground.errors import DesignError
from forehear.ground.reading.documents import Document
from forehear.ground.reading.nodes import Key


def named_file(document: Document, name: str, keys: Sequence[Key]) -> tuple[Path, str]:
    """Return path and label (relative to the design's folder) of a file that a document names at `keys`.

    Raises
    ------
    DesignError
        When the name leaves the design's folder or there is no such file.
    """
    where = document.where(keys)
    depth = len(Path(document.label).parts)
    folder = document.path.absolute().parents[depth - 1]
    path = Path(os.path.normpath(document.path.absolute().parent / name))
    if not path.is_relative_to(folder):
        raise DesignError(
            f"{name!r} lies outside the design's folder", where=where, cure=f"copy the file into {folder}"
        )
    label = path.relative_to(folder).as_posix()
    try:
        if path.is_dir():
            raise DesignError(f"{name!r} is a folder", where=where, cure="name a file in it")
        if not path.is_file():
            raise DesignError(f"there is no file {label}", where=where, cure=_nearest(path, label))
        inside = path.resolve().is_relative_to(folder.resolve())
    except (OSError, ValueError):
        raise DesignError(
            f"{name[:40]!r} cannot be a file name", where=where, cure="name a file that exists"
        ) from None
    if not inside:
        raise DesignError(
            f"{name!r} is a link that leads outside the design's folder",
            where=where,
            cure=f"copy the file into {folder}",
        )
    return path, label


def _nearest(path: Path, label: str) -> str:
    folder = path.parent
    names = [entry.name for entry in folder.iterdir() if entry.is_file()] if folder.is_dir() else []
    near = difflib.get_close_matches(path.name, names, n=1)
    return (
        f"did you mean {(Path(label).parent / near[0]).as_posix()}?"
        if near
        else "check the name and the folder"
    )
