"""How every command ends: its exit status, what went wrong in words, and results written where they may be."""

import argparse
import json
from collections.abc import Callable
from pathlib import Path

from forehear.app import terminal
from forehear.app.statuses import FINE, UNUSABLE
from forehear.ground.errors import Complaints, DesignError, ForehearError
from forehear.ground.files import write_atomically


def in_words(command: Callable[[argparse.Namespace], int], options: argparse.Namespace) -> int:
    """Run a command; bad input ends in clear words, never in a traceback."""
    try:
        return command(options)
    except Complaints as complaints:
        terminal.show_errors(complaints.errors)
    except ForehearError as error:
        terminal.show_errors([error])
    except KeyboardInterrupt:
        if options.command == "desk":
            return FINE  # that is how a desk is closed
        terminal.err.print("stopped; nothing was written (what the reference solver has done is kept)")
    return UNUSABLE


def writable(options: argparse.Namespace) -> None:
    """Refuse an output that cannot be written before any work is done."""
    impulses: Path | None = getattr(options, "impulses", None)
    if impulses is not None and not impulses.is_dir():
        raise DesignError(
            f"cannot write into {impulses}: there is no such folder",
            where=str(impulses),
            cure="name a folder that exists",
        )
    outputs = outputs_of(options)
    for path in outputs:
        reason = _unwritable(path)
        if reason:
            raise DesignError(
                f"cannot write {path}: {reason}", where=str(path), cure="name a file in a folder that exists"
            )
    if len({path.resolve() for path in outputs}) < len(outputs):
        raise DesignError(
            f"--json and --report both name {outputs[0]}", where=str(outputs[0]), cure="name two files"
        )


def outputs_of(options: argparse.Namespace) -> list[Path]:
    """Return the files that a command is to write."""
    return [path for path in (options.json, getattr(options, "report", None)) if path is not None]


def write_json(path: Path, data: dict[str, object]) -> None:
    """Write numbers and say where."""
    write_atomically(path, json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n")
    terminal.out.print(f"numbers  {path}", soft_wrap=True)


def _unwritable(path: Path) -> str:
    try:
        if path.is_dir():
            return "it is a folder"
        return "" if path.parent.is_dir() else "its folder does not exist"
    except OSError as error:
        return error.strerror or "its name cannot be used"
