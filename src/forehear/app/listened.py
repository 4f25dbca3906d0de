"""What `forehear listen --results` does: a closed session told. It loads nothing that renders or reads sound."""

import argparse

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from forehear.app import terminal
from forehear.app.outcome import in_words, outputs_of, writable, write_json
from forehear.app.statuses import FINE
from forehear.ground.errors import DesignError
from forehear.ground.files import write_atomically
from forehear.listen.analysis import analyse
from forehear.listen.cautions import matched_words
from forehear.listen.findings import Analysis, Verdict
from forehear.listen.session import Session
from forehear.listen.session_file import read_session

SIGNS = {
    Verdict.DIFFERENT: ("●", "green"),
    Verdict.NOT_SHOWN: ("▲", "yellow"),
    Verdict.TOO_FEW: ("▲", "yellow"),
}


def run(options: argparse.Namespace) -> int:
    """Tell what a closed session says; return the exit status."""
    return in_words(_results, options)


def _results(options: argparse.Namespace) -> int:
    writable(options)
    session = read_session(options.results)
    if options.results.resolve() in {path.resolve() for path in outputs_of(options)}:
        raise DesignError(
            f"{options.results} is the session and would be lost", cure="name another file for the result"
        )
    found = analyse(session)
    show_results(session, found)
    if options.json or options.report:
        _write(options, session, found)
    return FINE


def _write(options: argparse.Namespace, session: Session, found: Analysis) -> None:
    from forehear.publish.listened import results_data, results_page  # only where something is written

    if options.json:
        write_json(options.json, results_data(found))
    if options.report:
        write_atomically(options.report, results_page(session))
        terminal.out.print(f"report   {options.report}", soft_wrap=True)


def show_results(session: Session, found: Analysis) -> None:
    """Print what a closed session says: what makes it worth less first, then words, then numbers."""
    terminal.out.print(Text(f"{session.name}, begun {session.begun}", style="bold"))
    if matched := matched_words(session.setup):
        terminal.out.print(Padding(Text(matched), (0, 0, 0, 2)))
    for caution in found.cautions:
        terminal.out.print(Padding(Text.assemble(("first  ", "yellow"), caution), (0, 0, 0, 2)))
    sign, style = SIGNS[found.verdict]
    terminal.out.print(Text(f"{sign} {found.verdict}", style=style))
    for sentence in (found.headline, *found.sentences):
        terminal.out.print(Padding(Text(sentence), (0, 0, 0, 2)))
    if not found.table.rows:
        return
    table = Table(box=None, pad_edge=False, padding=(0, 3, 0, 0), header_style="dim")
    for index, name in enumerate(found.table.heads):
        table.add_column(Text(name), justify="right" if index else "left")
    for row in found.table.rows:
        table.add_row(*map(Text, row))
    terminal.out.print()
    terminal.out.print(table)
