"""How predictions look in a terminal: short tables and plain words."""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from rich.console import Console
from rich.padding import Padding
from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn
from rich.table import Table
from rich.text import Text

from forehear.ground.errors import ForehearError
from forehear.ground.findings import Finding, Level
from forehear.ground.work import Progress as Told
from forehear.judge import C50_STEP, STI_STEP, Hole, rating_word
from forehear.judge.words import counted, frequency_words, listed

if TYPE_CHECKING:  # words for a terminal need no solver
    from forehear.spine.compare import Comparison
    from forehear.spine.prediction import Prediction, Range, RuleOfThumb, Together

SIGNS = {Level.STOPS: ("■", "bold red"), Level.CHECK: ("▲", "yellow"), Level.FINE: ("●", "green")}

TURNS_SHOWN_DEG = 20

out = Console(highlight=False, soft_wrap=False)
err = Console(stderr=True, highlight=False)


@contextmanager
def progress_bar() -> Iterator[Told]:
    """Show one bar with the time left on the error stream, gone when done; silent when that is no terminal."""
    columns = (TextColumn("{task.description}"), BarColumn(), TimeRemainingColumn(compact=True))
    with Progress(*columns, console=err, transient=True, disable=not err.is_terminal) as bar:
        task = bar.add_task("", total=1.0)

        def told(share: float, doing: str) -> None:
            bar.update(task, completed=share, description=doing)

        yield told


def show_prediction(prediction: "Prediction") -> None:
    """Print what each seat hears, then the findings."""
    seats = len({seat.name for seat in prediction.seats})
    title = f"{prediction.design.title}, heard from {counted(seats, 'seat')}"
    trace = prediction.trace
    header = Table.grid(expand=True, padding=(0, 1))
    header.add_column()
    header.add_column(justify="right")
    header.add_row(Text(title, style="bold"), f"{trace.solver_words}, {trace.seconds:.1f} s")
    out.print(header)
    out.print(_seat_table(prediction))
    _show_speech(prediction)
    if prediction.together:
        _show_together(prediction.together)
    if prediction.room:
        _show_room(prediction)
    out.print()
    show_findings(prediction.findings)


def _seat_table(prediction: "Prediction") -> Table:
    placements = {seat.placement for seat in prediction.seats}
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    table.add_column("seat")
    if len(placements) > 1:
        table.add_column("from")
    for name in ("angle", "distance", "spread\n(direct)"):
        table.add_column(name, justify="right", no_wrap=True)
    table.add_column("deepest hole\n(direct)")
    for seat in prediction.seats:
        row = [Text(seat.name)]
        if len(placements) > 1:
            row.append(Text(seat.placement))
        row.append(Text(f"{round(seat.azimuth_deg)}°"))
        row.append(Text(f"{seat.distance_m:.1f} m"))
        row.append(Text(f"{seat.spread_db:.1f} ({seat.direct_spread_db:.1f}) dB"))
        row.append(Text(f"{_hole_words(seat.hole)} ({_hole_words(seat.direct_hole)})"))
        table.add_row(*row)
    return table


def _hole_words(hole: Hole | None) -> str:
    if hole is None:
        return "none"
    return f"-{hole.depth_db:.0f} dB at {frequency_words(hole.frequency_hz)}"


def _show_speech(prediction: "Prediction") -> None:
    """Print how clear speech is at each seat."""
    spoken = [(seat, seat.speech) for seat in prediction.seats if seat.speech]
    if not spoken:
        return
    several = len({seat.placement for seat in prediction.seats}) > 1
    table = plain_table("how sure", "spread", "C50", "with noise, U50", "STI")
    for seat, speech in spoken:
        ranges = seat.ranges
        table.add_row(
            f"{seat.name}, from {seat.placement}" if several else seat.name,
            _sure(f"{seat.spread_db:.1f} dB", ranges.spread_db if ranges else None, 1),
            _sure(f"{speech.c50_db:.1f} dB", ranges.c50_db if ranges else None, 1),
            _sure(f"{speech.u50_db:.1f} dB", ranges.u50_db if ranges else None, 1),
            _sure(f"{speech.sti:.2f} {rating_word(speech.sti)}", ranges.sti if ranges else None, 2),
        )
    programme = prediction.design.brief.programme
    out.print()
    out.print(table)
    noise_db = spoken[0][1].noise_db_a
    out.print(
        Text(
            "below each: between which values it lies, nine times of ten; "
            f"C50 and U50 are means of 500 Hz to 4 kHz; {C50_STEP.step:g} dB of them, and {STI_STEP.step:g} of STI, "
            "is the least that is heard; "
            f"speech {programme.speech_level_db_a:.0f} dB(A) at 1 m, noise {noise_db:.0f} dB(A)",
            style="dim",
        )
    )


def _sure(number: str, between: "Range | None", digits: int) -> Text:
    """Write a number, and below it between which values it lies."""
    if between is None:
        return Text(number)
    return Text.assemble(number, "\n", (f"{between.low:.{digits}f} to {between.high:.{digits}f}", "dim"))


def plain_table(*columns: str) -> Table:
    """Make a table whose first column is words and whose others are numbers."""
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0), header_style="dim")
    for index, name in enumerate(columns):
        table.add_column(Text(name), justify="right" if index else "left", no_wrap=index > 0)
    return table


def _show_together(together: "Together") -> None:
    """Print what every seat hears of all placements, and how one fits the others."""
    out.print()
    out.print(Text("All speakers at once, each playing something of its own", style="bold"))
    table = plain_table("spread", *together.seats)
    for playing in together.each:
        table.add_row(
            f"{playing.placement} ({playing.title})", *(f"{value:.1f} dB" for value in playing.spread_db)
        )
    table.add_row("together", *(f"{value:.1f} dB" for value in together.sum_spread_db))
    out.print(table)
    out.print()
    fits = plain_table("how far from the others", "seat", "louder", "timbre, rms", "bass")
    for fit in together.fits:
        fits.add_row(
            f"{fit.placement} against {listed(fit.others)}",
            fit.seat,
            f"{fit.louder_db:+.1f} dB",
            f"{fit.timbre_db:.1f} dB",
            f"{fit.bass_octaves:+.1f} octaves",
        )
    out.print(fits)


def _show_room(prediction: "Prediction") -> None:
    """Print what turning, treating and moving would do."""
    story = prediction.room
    assert story is not None
    names = [seat.name for seat in prediction.seats]
    turning = story.turning
    out.print()
    out.print(Text("Turned, counter-clockwise seen from above: spread in dB", style="bold"))
    shown = [index for index, turn in enumerate(turning.turn_deg) if turn % TURNS_SHOWN_DEG == 0]
    table = plain_table("seat", *(f"{turning.turn_deg[index]:.0f}°" for index in shown))
    for name, row in zip(names, turning.spread_db, strict=True):
        table.add_row(name, *(f"{row[index]:.1f}" for index in shown))
    out.print(table)
    out.print()
    out.print(Text("What the room does: spread in dB", style="bold"))
    table = plain_table("", *names, "gained")
    now = [seat.spread_db for seat in prediction.seats]
    table.add_row("as it is", *(f"{value:.1f}" for value in now), "")
    table.add_row("head moved by 10 cm, at worst", *(f"{value:.1f}" for value in story.head_moved_db), "")
    for change in (*story.treated, *story.moved):
        table.add_row(
            change.doing, *(f"{value:.1f}" for value in change.spread_db), f"{change.gained_db:+.1f}"
        )
    out.print(table)


def show_findings(findings: Iterable[Finding]) -> None:
    """Print findings, the gravest first; of what is fine only the sentence."""
    for finding in findings:
        sign, style = SIGNS[finding.level]
        grid = Table.grid(padding=(0, 2, 0, 0))
        grid.add_column(no_wrap=True)
        grid.add_column()
        grid.add_row(Text(f"{sign} {finding.level:<5}", style=style), Text(finding.what))
        details = () if finding.level is Level.FINE else ("cause", "cure", "where")
        for label in details:
            words = getattr(finding, label)
            if words:
                grid.add_row("", Text.assemble((f"{label:<6} ", "dim"), words))
        out.print(grid)


def show_rules(rules: "Iterable[RuleOfThumb]") -> None:
    """Print the trade's rules of thumb with the exact answer beside each."""
    table = Table(box=None, pad_edge=False, padding=(0, 3, 0, 0), header_style="dim")
    for name in ("rule of thumb", "says", "exactly"):
        table.add_column(name)
    for rule in rules:
        table.add_row(Text(rule.what), Text(rule.rule), Text(rule.exact))
    out.print()
    out.print(table)


def show_comparison(comparison: "Comparison") -> None:
    """Print the candidates beside each other, what each is best at and what it gives up."""
    out.print(Text("Which compromise suits this room?", style="bold"))
    table = Table(box=None, pad_edge=False, padding=(0, 3, 0, 0), header_style="dim")
    table.add_column("")
    for prediction in comparison.predictions:
        table.add_column(Text(prediction.design.title))
    for row in comparison.table:
        cells = [
            Text(f"{value} ◀", style="bold") if index in row.leaders else Text(value)
            for index, value in enumerate(row.values)
        ]
        table.add_row(Text(row.label), *cells)
    out.print(table)
    out.print()
    for prediction, good, bad in zip(
        comparison.predictions, comparison.strengths, comparison.costs, strict=True
    ):
        out.print(Text(prediction.design.title, style="bold"))
        for label, sentences in (("best at", good), ("gives up", bad)):
            words = "; ".join(sentences) if sentences else "nothing the others do not"
            out.print(Padding(Text.assemble((f"{label:<9}", "dim"), words), (0, 0, 0, 2)))


def show_errors(errors: Iterable[ForehearError]) -> None:
    """Print complaints to the error stream."""
    for error in errors:
        err.print(Text(str(error)), soft_wrap=True)
