"""Writing files so that a crash never leaves half of one."""

import os
import sys
import tempfile
from pathlib import Path

from forehear.ground.errors import DataError


def write_atomically(path: Path, content: str | bytes) -> None:
    """Write `content` to `path` by an atomic rename; the old file stays whole if anything fails.

    Raises
    ------
    DataError
        When the folder is missing or cannot be written to.
    """
    data = content.encode("utf-8") if isinstance(content, str) else content
    try:
        mode = path.stat().st_mode & 0o777 if path.exists() else 0o644
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            Path(temporary).chmod(mode)
            Path(temporary).replace(path)
        except BaseException:
            Path(temporary).unlink(missing_ok=True)
            raise
    except OSError as error:
        raise DataError(
            f"cannot write {path}: {error.strerror}",
            where=str(path),
            cure="name a folder that exists and is yours",
        ) from error


def state_folder() -> Path:
    """Return the folder where forehear keeps a user's unsaved work; nothing is made yet."""
    if sys.platform == "win32":
        home = os.environ.get("LOCALAPPDATA")
        return Path(home or Path.home() / "AppData" / "Local") / "forehear"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "forehear"
    home = os.environ.get("XDG_STATE_HOME")
    return Path(home or Path.home() / ".local" / "state") / "forehear"


def cache_folder() -> Path:
    """Return the folder where forehear keeps what can be worked out again; nothing is made yet."""
    if sys.platform == "win32":
        home = os.environ.get("LOCALAPPDATA")
        return Path(home or Path.home() / "AppData" / "Local") / "forehear" / "cache"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches" / "forehear"
    home = os.environ.get("XDG_CACHE_HOME")
    return Path(home or Path.home() / ".cache") / "forehear"


def write_privately(path: Path, content: str) -> None:
    """Write a file that only its owner may read, by an atomic rename; folders are made."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        if not path.exists():
            path.touch(mode=0o600)
    except OSError as error:
        raise DataError(
            f"cannot write {path}: {error.strerror}", where=str(path), cure="name a folder that is yours"
        ) from error
    write_atomically(path, content)
