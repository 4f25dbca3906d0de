"""The command line. Parsing alone imports nothing heavy, so that --help answers at once."""

import argparse
import os
import sys
from collections.abc import Sequence
from importlib.metadata import version
from pathlib import Path

from forehear.app.listening_cli import add_listen
from forehear.app.statuses import UNUSABLE

SOLVERS = ("auto", "instant", "reference")
BLAS_LIBRARIES = (
    "OPENBLAS",
    "MKL",
    "OMP",
)  # our matrices are small: a second thread only waits for the first

DESCRIPTION = (
    "Hear a loudspeaker beforehand: from one design file to what every seat in the room will hear, and why."
)
HANDED_OVER_S = 0.001  # between threads: with Python's own 5 ms two cores are hardly quicker than one
EPILOG = "Exit status: 0 fine, 1 findings that stop, 2 unusable input."


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; return its exit status."""
    options = _parser().parse_args(arguments)
    for library in BLAS_LIBRARIES:  # read once, when numpy loads
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")
    sys.setswitchinterval(HANDED_OVER_S)
    try:
        return _run(options)
    except KeyboardInterrupt:  # while what is heavy still loads; later a command ends by itself
        sys.stderr.write("stopped; nothing was written\n")
        return UNUSABLE


def _run(options: argparse.Namespace) -> int:
    if options.command == "listen" and options.results:
        from forehear.app import listened  # only reads and counts

        return listened.run(options)
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

    _add_voice(commands)

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
        command.add_argument(
            "--solver",
            choices=SOLVERS,
            default=SOLVERS[0],
            help="how radiation is found: instant; reference (solved to 4 kHz: half a minute, once a shape); "
            "auto, the reference where it has been solved before, else instant",
        )
    return parser


def _add_voice(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    voice = commands.add_parser(
        "voice", help="find the network: parts that can be had, for the seats that matter"
    )
    voice.add_argument("design", type=Path, metavar="DESIGN", help="a design file; it is never written over")
    weights = voice.add_argument_group("what counts (in place of the brief)")
    for name, what in (
        ("seats", "the sound in the room at the main seats"),
        ("on-axis", "on axis"),
        ("window", "the listening window"),
        ("coverage", "speech to the sides"),
    ):
        weights.add_argument(f"--{name}", type=_weight, metavar="WEIGHT", help=f"weight of {what}")
    weights.add_argument("--slope", type=_number, metavar="DB", help="wanted in the room, dB per octave")
    limits = voice.add_argument_group("what is kept (in place of the brief)")
    limits.add_argument("--floor", type=_above_zero, metavar="OHM", help="lowest impedance")
    limits.add_argument("--level", type=_number, metavar="DB", help="lowest mean level on axis")
    limits.add_argument("--most-parts", type=_whole, metavar="N", help="of the network")
    limits.add_argument("--most-cost", type=_weight, metavar="PRICE", help="of the network")
    limits.add_argument("--keep-polarity", action="store_true", help="never turn a way round")
    limits.add_argument("--all-parts", action="store_true", help="leave no part out")
    limits.add_argument("--no-more", action="store_true", help="try no further parts")
    stock = voice.add_argument_group("what there is")
    stock.add_argument("--values", choices=("E6", "E12", "E24"), help="series of values")
    stock.add_argument("--stock", type=Path, metavar="FILE", help="a list of parts to choose from")
    stock.add_argument("--pairs", action="store_true", help="two parts may stand for one")
    search = voice.add_argument_group("the search")
    search.add_argument(
        "--orders",
        type=_orders,
        default=(),
        metavar="1,2,3",
        help="try ladders of these orders in every way, in place of the network given",
    )
    search.add_argument(
        "--seed", type=_whole, default=1, metavar="N", help="the same one finds the same again"
    )
    search.add_argument("--time", metavar="20s", help="stop then with what is found")
    builds = voice.add_argument_group("builds")
    builds.add_argument(
        "--yield", dest="yields", action="store_true", help="only build this design many times"
    )
    builds.add_argument("--builds", type=_whole, default=5000, metavar="N", help="how many (5000)")
    builds.add_argument("--within", type=_above_zero, default=1.5, metavar="DB", help="what is good (1.5)")
    builds.add_argument("--normal", action="store_true", help="parts drawn normal, not evenly")
    builds.add_argument("--one-batch", action="store_true", help="drivers of one file are off alike")
    builds.add_argument("--voltage", type=_above_zero, default=10.0, metavar="V", help="of the noise (10)")
    voice.add_argument("--json", type=Path, metavar="FILE", help="also write every number as JSON")


def _number(text: str, least: float = -1e6, most: float = 1e6) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if not least <= value <= most:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number from {least:g} to {most:g}")
    return value


def _weight(text: str) -> float:
    return _number(text, 0.0)


def _above_zero(text: str) -> float:
    return _number(text, 1e-3)


def _whole(text: str) -> int:
    value = _number(text, 1.0)
    if value != int(value):
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number")
    return int(value)


def _orders(text: str) -> tuple[int, ...]:
    found = text.replace(" ", "").split(",")
    if not all(order in ("1", "2", "3", "4") for order in found):
        raise argparse.ArgumentTypeError(f"{text!r} is not a list of orders from 1 to 4, such as 1,2,3")
    return tuple(int(order) for order in found)


if __name__ == "__main__":
    sys.exit(main())
