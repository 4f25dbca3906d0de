"""How the results of a listening session look in a terminal."""

from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from forehear.app import terminal
from forehear.listen.findings import Analysis, Verdict
from forehear.listen.session import Session

SIGNS = {
    Verdict.DIFFERENT: ("●", "green"),
    Verdict.NOT_SHOWN: ("▲", "yellow"),
    Verdict.TOO_FEW: ("▲", "yellow"),
}


def show_results(session: Session, found: Analysis) -> None:
    """Print what a closed session says: what makes it worth less first, then words, then numbers."""
    terminal.out.print(Text(f"{session.name}, begun {session.begun}", style="bold"))
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
