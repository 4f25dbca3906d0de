"""What `forehear listen` is asked with; parsing alone, nothing heavy."""

import argparse
from pathlib import Path


def add_listen(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Add the command to those of the command line."""
    listen = commands.add_parser("listen", help="render what two ears hear of each candidate at each seat")
    listen.add_argument(
        "designs",
        type=Path,
        nargs="*",
        metavar="DESIGN",
        help="design files that share a brief, or one design folder",
    )
    listen.add_argument(
        "--seat",
        action="append",
        metavar="NAME",
        help="a seat of the brief; may be given again; left out: every seat",
    )
    listen.add_argument(
        "--clip",
        default="speech",
        metavar="NAME|FILE",
        help="what is played: speech, pink noise, tones, percussion, or a WAV or FLAC file; left out: speech",
    )
    listen.add_argument(
        "--head", type=Path, metavar="FILE", help="a measured head as a SOFA file; left out: a rigid ball"
    )
    listen.add_argument(
        "--out", type=Path, metavar="FOLDER", help="write the sounds there; left out: `out` beside the brief"
    )
    levels = listen.add_mutually_exclusive_group()
    levels.add_argument(
        "--keep-level", action="store_true", help="leave candidates as loud as they are at a seat"
    )
    levels.add_argument("--level-seats", action="store_true", help="make all seats equally loud, too")
    results = listen.add_argument_group("a blind session, instead of sounds")
    results.add_argument(
        "--results", type=Path, metavar="SESSION", help="tell what this closed session file says"
    )
    results.add_argument("--report", type=Path, metavar="FILE", help="also write it as one HTML page")
    results.add_argument("--json", type=Path, metavar="FILE", help="also write every number as JSON")
