"""What `forehear listen` does: candidates rendered, written as sound files, and told in a table."""

import argparse
import re
from collections.abc import Sequence
from itertools import product
from pathlib import Path

from rich.table import Table
from rich.text import Text

from forehear.app import terminal
from forehear.app.desk.folder import open_folder
from forehear.design import Design, load
from forehear.ground.errors import DataError
from forehear.ground.files import write_atomically
from forehear.listen import (
    CAUTION,
    LEFT_OUT,
    Clip,
    Matching,
    Rendered,
    Settings,
    SphereHead,
    find_clip,
    read_head,
    render,
    settings_in,
    stages_of,
    wav_bytes,
)

OTHERWISE = "what the report says is estimated about each candidate and the room"


def listen(options: argparse.Namespace) -> int:
    """Render, write and tell; return the exit status."""
    designs = _designs(options.designs)
    clip = find_clip(options.clip)
    settings = Settings(
        head=SphereHead() if options.head is None else read_head(options.head), matching=_matching(options)
    )
    seats = list(dict.fromkeys(options.seat or [seat.name for seat in designs[0].brief.seats]))
    folder = options.out or designs[0].brief.path.parent / "out"
    paths = _paths(folder, designs, seats, clip)
    with terminal.progress_bar() as progress:
        rendered = render(designs, seats, clip, settings, progress)
    folder.mkdir(exist_ok=True)
    for path, sound in zip(paths, rendered, strict=True):
        write_atomically(path, wav_bytes(sound))
    _show(designs, seats, rendered, clip)
    for path in paths:
        terminal.out.print(f"sound    {path}", soft_wrap=True)
    terminal.out.print(Text(f"caution  {CAUTION}", style="yellow"), soft_wrap=True)
    return 0


def _designs(places: Sequence[Path]) -> list[Design]:
    """Read the designs named, or all candidates of a folder."""
    paths: list[Path] = []
    for place in places:
        if place.is_dir():
            folder, _ = open_folder(place)
            paths += [folder.inside(name) for name in folder.candidates]
        else:
            paths.append(place)
    return [load(path) for path in dict.fromkeys(paths)]


def _matching(options: argparse.Namespace) -> Matching:
    if options.keep_level:
        return Matching.NOTHING
    return Matching.EVERYTHING if options.level_seats else Matching.CANDIDATES


def _paths(folder: Path, designs: Sequence[Design], seats: Sequence[str], clip: Clip) -> list[Path]:
    """Name the files, and refuse what would be lost before any work is done."""
    if not (folder if folder.exists() else folder.parent).is_dir():
        raise DataError(
            f"cannot write into {folder}: there is no such folder",
            where=str(folder),
            cure="name a folder that exists, or one to be made in a folder that exists",
        )
    clip_name = Path(clip.name).stem
    paths = [
        folder / (re.sub(r'[/\\:*?"<>|]', "-", f"{design.path.stem}, {seat}, {clip_name}") + ".wav")
        for design, seat in product(designs, seats)
    ]
    if len(set(paths)) < len(paths):
        raise DataError(
            "two of these designs have files of the same name, and one sound would be written over the other",
            where=", ".join(str(design.path) for design in designs),
            cure="name a folder for each with --out, one after the other",
        )
    for path in paths:
        if path.exists() and settings_in(path) is None:
            raise DataError(
                f"{path} was not written by forehear and would be lost",
                where=str(path),
                cure="move that file away, or name another folder with --out",
            )
    return paths


def _show(designs: Sequence[Design], seats: Sequence[str], rendered: Sequence[Rendered], clip: Clip) -> None:
    """Print levels and clarity, then what is modelled and what is not."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for index, name in enumerate(("candidate", "seat", "loudness", "matched by", "true peak", "C50")):
        table.add_column(name, justify="right" if index > 1 else "left", no_wrap=index > 1)
    for (stage, seat), sound in zip(product(stages_of(designs), seats), rendered, strict=True):
        clarity_db = stage.clarity_db(seat)
        table.add_row(
            Text(sound.candidate),
            Text(sound.seat),
            f"{sound.level.loudness_lufs:.1f} LUFS",
            f"{sound.level.matched_by_db:+.1f} dB",
            f"{sound.level.true_peak_dbfs:.1f} dBFS",
            "" if clarity_db is None else f"{clarity_db:.1f} dB",
        )
    first = rendered[0]
    terminal.out.print(Text(f"{clip.name}, {clip.seconds:.1f} s, through two ears", style="bold"))
    terminal.out.print(table)
    terminal.out.print(
        f"common gain {first.level.common_db:+.1f} dB; levels: {first.told['levels']}", soft_wrap=True
    )
    for label, sentences in (
        ("modelled", first.modelled),
        ("left out", (*LEFT_OUT, OTHERWISE)),
        ("clip", clip.notes),
    ):
        for index, words in enumerate(sentences):
            terminal.out.print(Text.assemble((f"{'' if index else label:<9}", "dim"), words), soft_wrap=True)
