"""The command line. Parsing alone imports nothing heavy, so that --help answers at once."""

import argparse
import os
import sys
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path

from forehear.app.listening_cli import add_listen

SOLVERS = ("instant",)
BLAS_LIBRARIES = (
    "OPENBLAS",
    "MKL",
    "OMP",
)  # our matrices are small: a second thread only waits for the first

DESCRIPTION = (
    "Hear a loudspeaker beforehand: from one design file to what every seat in the room will hear, and why."
)
EPILOG = "Exit status: 0 fine, 1 findings that stop, 2 unusable input."


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; return its exit status."""
    options = _parser().parse_args(arguments)
    for library in BLAS_LIBRARIES:  # read once, when numpy loads
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")
    from forehear.app import commands  # heavy: only once a command is known

    return commands.run(options)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser("forehear", description=DESCRIPTION, epilog=EPILOG)
    parser.add_argument("--version", action="version", version=f"forehear {version('forehear')}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    new = commands.add_parser("new", help="write a commented starter brief and design")
    new.add_argument("folder", type=Path, metavar="FOLDER", help="a new or empty folder")

    check = commands.add_parser("check", help="read a design and judge it without solving")
    check.add_argument("design", type=Path, metavar="DESIGN", help="a design file")

    predict = commands.add_parser("predict", help="say what every seat hears of one design, and why")
    predict.add_argument("design", type=Path, metavar="DESIGN", help="a design file")

    predict.add_argument(
        "--room", action="store_true", help="also try it turned and moved, and the surfaces treated"
    )

    predict.add_argument(
        "--impulses",
        type=Path,
        metavar="FOLDER",
        help="also write the impulse response at every seat as sound files, pascal a volt",
    )

    compare = commands.add_parser("compare", help="weigh candidates for one brief against each other")
    compare.add_argument(
        "designs", type=Path, nargs="+", metavar="DESIGN", help="design files that share a brief"
    )

    add_listen(commands)

    desk = commands.add_parser("desk", help="see and shape a design in the browser")
    desk.add_argument(
        "folder",
        type=Path,
        nargs="?",
        metavar="FOLDER",
        help="a design folder; left out: the bundled example",
    )
    desk.add_argument("--port", type=int, metavar="N", help="serve there; left out: any that is free")
    desk.add_argument("--no-open", action="store_true", help="do not open the browser")

    for command in (predict, compare):
        command.add_argument("--json", type=Path, metavar="FILE", help="also write every number as JSON")
        command.add_argument(
            "--report", type=Path, metavar="FILE", help="also write one self-contained HTML page"
        )
        command.add_argument("--solver", choices=SOLVERS, default=SOLVERS[0], help="how radiation is found")
    return parser


if __name__ == "__main__":
    sys.exit(main())
