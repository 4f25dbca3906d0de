"""A folder to start from: a commented brief, one design and its parts, all invented, that predict at once."""

from importlib import resources
from pathlib import Path

from forehear.ground.errors import DataError, DesignError
from forehear.ground.files import write_atomically

STARTER_FILES = ("brief.yaml", "first-speaker.yaml", "parts/cone-130.yaml", "parts/dome-25.yaml")


def starter_text(name: str) -> str:
    """Return the text of one starter file."""
    return resources.files("forehear.design").joinpath("starter_files", *name.split("/")).read_text("utf-8")


def write_starter(folder: str | Path) -> tuple[Path, ...]:
    """Write the starter files into a folder, which is made when it does not exist.

    Returns
    -------
    tuple of Path
        The files written, the brief first, then the design.

    Raises
    ------
    DesignError
        When the folder already holds a file of one of these names; nothing is written then.
    """
    folder = Path(folder)
    paths = tuple(folder / name for name in STARTER_FILES)
    try:
        taken = next((path for path in paths if path.exists()), None)
        if taken is None:
            for path in paths:
                path.parent.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "its name cannot be used"
        raise DataError(
            f"cannot make {folder}: {reason}", where=str(folder), cure="name another folder"
        ) from error
    if taken is not None:
        raise DesignError(
            f"{folder} already holds {taken.relative_to(folder)}", where=str(taken), cure="name a new folder"
        )
    for path, name in zip(paths, STARTER_FILES, strict=True):
        write_atomically(path, starter_text(name))
    return paths
