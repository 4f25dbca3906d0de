"""The folder that a desk has open: which designs lie in it, what stands on disk, and how it is written."""

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from forehear.design import Design, load
from forehear.ground.errors import Complaints, DesignError, ForehearError
from forehear.ground.files import state_folder, write_atomically
from forehear.ground.reading.documents import Document

EXAMPLE = "attic-cinema"


@dataclass(frozen=True)
class Folder:
    """A brief and the candidates that name it; files are known by their names inside the folder."""

    path: Path
    brief: str
    candidates: tuple[str, ...]
    first: str

    def on_disk(self, name: str) -> str | None:
        """Return the text of a file of the folder as it stands on disk; None when it is not there."""
        path = self.inside(name)
        try:
            return path.read_bytes().decode("utf-8-sig")
        except (OSError, UnicodeDecodeError):
            return None

    def write(self, name: str, text: str) -> None:
        """Write a file of the folder atomically."""
        path = self.inside(name)
        path.parent.mkdir(exist_ok=True)
        write_atomically(path, text)

    def inside(self, name: str) -> Path:
        """Return where a file of the folder is; nothing outside it is ever named."""
        path = (self.path / name).resolve()
        if not path.is_relative_to(self.path.resolve()):
            raise DesignError(f"{name!r} lies outside the folder", cure="name a file of the folder")
        return self.path / name

    @property
    def aside(self) -> Path:
        """Where unsaved work on this folder is kept."""
        return state_folder() / "desk" / f"{self.key}.json"

    @property
    def key(self) -> str:
        """A short name of the folder, for files outside it."""
        return hashlib.blake2b(str(self.path.resolve()).encode(), digest_size=8).hexdigest()


def open_folder(place: Path | None) -> tuple[Folder, Design]:
    """Find the designs of a folder (or of the folder of one design), and read the first.

    Raises
    ------
    DesignError, DataError, Complaints
        When there is no design to open.
    """
    if place is None:
        place = example_folder()
    if place.is_file():
        first, place = place.name, place.parent
    elif place.is_dir():
        first = ""
    else:
        raise DesignError(
            f"there is no folder {place}", where=str(place), cure=f"make one: forehear new {place}"
        )
    place = place.absolute()
    names = dict(_designs(place))
    if first and first not in names:
        raise DesignError(f"{first} holds no design", where=str(place / first), cure="name a design file")
    if not names:
        raise DesignError(
            f"{place} holds no design", where=str(place), cure="name a folder with a brief and a design in it"
        )
    first, design = _first_that_reads(place, [first] if first else list(names))
    brief = design.brief.document.label
    candidates = tuple(name for name, follows in names.items() if follows == brief)
    return Folder(place, brief, candidates, first), design


def _first_that_reads(place: Path, names: list[str]) -> tuple[str, Design]:
    """Open the first design that can be opened; when none can, say why the first cannot."""
    complaint: ForehearError | Complaints | None = None
    for name in names:
        try:
            return name, load(place / name)
        except (ForehearError, Complaints) as error:
            complaint = complaint or error
    assert complaint is not None
    raise complaint


def _designs(place: Path) -> Iterator[tuple[str, str]]:
    """Yield the design files of a folder with the brief that each names."""
    for path in sorted(place.glob("*.yaml")):
        try:
            plain = Document.read(path).plain()
        except (ForehearError, Complaints):
            continue
        brief = plain.get("brief")
        if "design" in plain and isinstance(brief, str):
            yield path.name, brief


def example_folder() -> Path:
    """Return a copy of the bundled example that is the user's own, made when it is not there yet."""
    source = _bundled()
    found = (path for path in source.rglob("*") if path.is_file())
    files = sorted(path for path in found if path.relative_to(source).parts[0] != "out")
    digest = hashlib.blake2b(digest_size=4)
    for path in files:
        digest.update(path.read_bytes())
    copy = state_folder() / "examples" / digest.hexdigest() / EXAMPLE
    for path in files:
        target = copy / path.relative_to(source)
        if not target.exists():
            target.parent.mkdir(parents=True, exist_ok=True)
            write_atomically(target, path.read_bytes())
    return copy


def _bundled() -> Path:
    """Find the example beside the installed package, or at the top of the source tree."""
    package = Path(str(resources.files("forehear")))
    for place in (package / "examples" / EXAMPLE, package.parents[1] / "examples" / EXAMPLE):
        if place.is_dir():
            return place
    raise DesignError("the bundled example is missing", where=str(package), cure="install forehear again")
