"""`forehear voice`: the network found, offered and written; or, with --yield, how true builds of one come out."""

import argparse
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from rich.text import Text

from forehear.app import terminal
from forehear.design import Design, load
from forehear.ground.errors import DesignError
from forehear.ground.work import part_of
from forehear.parts import load_stock
from forehear.spine.hearing import Hearing
from forehear.spine.situation import solve_situation
from forehear.voice import (
    Asked,
    Draw,
    Offered,
    Offers,
    Search,
    Shop,
    Stress,
    Voiced,
    Yield,
    as_plain_data,
    find_network,
    heat_words,
    layout_of,
    listen,
    offers_of,
    plain_stress,
    plain_yield,
    stress_of,
    wish_of,
    write,
    yield_of,
)
from forehear.voice.shop import make_words, tolerance_of

CAUTION = (
    "Estimates for one steady signal; parts warm each other, and music differs. Resistors get hot: keep them off "
    "plastic, glue and wires. Solder with fresh air, away from mains; before power goes on, measure the impedance, and "
    "start quietly. Data sheets and local rules come first."
)
LIST_BUILDS = 2000  # of each network offered


def voice(options: argparse.Namespace) -> dict[str, object]:
    """Find networks for a design, show and write them; return the numbers for JSON."""
    design = load(options.design)
    if options.yields:
        return _yield(options, design)
    started = time.monotonic()
    wish = wish_of(design, _asked(options), _shop(options, design))
    search = Search(
        options.seed,
        seconds_of(options.time),
        turned=not options.keep_polarity,
        fewer=not options.all_parts,
        more=not options.no_more,
        orders=options.orders,
    )
    draw = Draw(LIST_BUILDS, options.within, options.normal, options.one_batch, options.seed)
    with terminal.progress_bar() as progress:
        voiced = find_network(design, wish, search, part_of(progress, 0.0, 0.9))
        offers = offers_of(voiced, draw, options.voltage, part_of(progress, 0.9, 1.0))
    written = write(offers.after)
    seconds = time.monotonic() - started
    _show(voiced, offers, written, seconds)
    return as_plain_data(voiced, offers, written, seconds)


def seconds_of(text: str | None) -> float | None:
    """Read a time such as 20s.

    Raises
    ------
    DesignError
        When it is none.

    Examples
    --------
    >>> seconds_of("20s"), seconds_of("1.5 s"), seconds_of(None)
    (20.0, 1.5, None)
    """
    if text is None:
        return None
    try:
        seconds = float(text.strip().removesuffix("s").strip())
    except ValueError:
        seconds = -1.0
    if not 0 < seconds < 1e6:
        raise DesignError(f"{text!r} is no time", where="--time", cure="write seconds, such as --time 20s")
    return seconds


def _asked(options: argparse.Namespace) -> Asked:
    return Asked(
        seats=options.seats,
        on_axis=options.on_axis,
        listening_window=options.window,
        speech_coverage=options.coverage,
        slope_db_per_octave=options.slope,
        lowest_impedance_ohm=options.floor,
        lowest_level_db=options.level,
        most_parts=options.most_parts,
        most_cost=options.most_cost,
    )


def _shop(options: argparse.Namespace, design: Design) -> Shop:
    told = design.brief.goals.voicing
    shop = Shop(told.values, told.stock, told.pairs, told.largest_film_f)
    if options.values:
        shop = replace(shop, values=options.values)
    if options.stock:
        shop = replace(shop, stock=load_stock(options.stock, options.stock.name))
    return replace(shop, pairs=shop.pairs or options.pairs)


def _yield(options: argparse.Namespace, design: Design) -> dict[str, object]:
    draw = Draw(options.builds, options.within, options.normal, options.one_batch, options.seed)
    with terminal.progress_bar() as progress:
        progress(0.1, f"{design.title}: the seats")
        situation = solve_situation(design, Hearing.standard())
        progress(0.4, f"{options.builds} builds")
        layout, start = layout_of(design), listen(situation, wish_of(design, Asked()).goal)
        found = yield_of(situation, layout, start.evaluator, draw)
        stress = stress_of(design, situation.speaker, layout, start.evaluator, options.voltage)
    terminal.out.print(Text(f"{design.title}, built {draw.builds} times", style="bold"))
    _show_yield(found)
    _show_stress(stress)
    return {
        "format": "forehear-yield/1",
        "design": design.title,
        "yield": plain_yield(found),
        "stress": plain_stress(stress),
        "tolerances": [tolerance_of(part.component) for part in layout.parts],
    }


def _show(voiced: Voiced, offers: Offers, written: Sequence[Path], seconds: float) -> None:
    out = terminal.out
    words = {"finished": "", "time": ", stopped by the time", "hand": ", stopped by hand"}[voiced.stopped_by]
    out.print(
        Text(
            f"{voiced.design.title}: unevenness {voiced.goal_before_db:.2f} dB, now {voiced.goal_after_db:.2f} dB",
            style="bold",
        )
    )
    out.print(Text(f"{voiced.evaluations} networks tried in {seconds:.1f} s{words}", style="dim"))
    if not offers.after:
        out.print("Nothing better was found with these parts; nothing was written.")
    else:
        out.print(_table(offers, written))
    for one in voiced.suggestions:
        out.print(Text(f"would pay: {one.doing}, {one.gained_db:.2f} dB less uneven"))
    if offers.after:
        best = offers.after[0]
        out.print()
        out.print(Text(f"{written[0].name}: its parts, and what they bear", style="bold"))
        out.print(_parts_table(best))
        _show_stress(best.stress)


def _table(offers: Offers, written: Sequence[Path]) -> object:
    draw = offers.before.builds.draw
    table = terminal.plain_table(
        "network", "uneven", "parts", "price", f"within {draw.within_db:g} dB", "95 % within", "at least"
    )
    names = ["as it is", *(path.name for path in written)]
    for name, offer in zip(names, (offers.before, *offers.after), strict=True):
        table.add_row(Text(_named(name, offer)), *(Text(cell) for cell in _cells(offer)))
    return table


def _parts_table(offer: Offered) -> object:
    table = terminal.plain_table("part", "price")
    layout = offer.candidate.layout
    for name, part in zip(layout.names, layout.parts, strict=True):
        price = "" if part.component.price is None else f"{part.component.price:.2f}"
        table.add_row(Text.assemble(name, (f": {make_words(part.component)}", "dim")), price)
    return table


def _named(name: str, offer: Offered) -> str:
    return f"{name} ({offer.candidate.note})" if offer.candidate.note else name


def _cells(offer: Offered) -> tuple[str, ...]:
    return (
        f"{offer.candidate.goal_db:.2f} dB",
        str(offer.candidate.parts),
        f"{offer.candidate.price:.2f}",
        f"{100 * offer.builds.good:.1f} %",
        f"{offer.builds.most_db:.2f} dB",
        f"{offer.stress.load.lowest_ohm:.1f} ohm",
    )


def _show_yield(found: Yield) -> None:
    out = terminal.out
    drawn = "normal, a third of the tolerance" if found.draw.normal else "even within the tolerance"
    out.print(
        f"{100 * found.good:.1f} % stay within {found.draw.within_db:g} dB of the curve as drawn at every main seat "
        f"({100 * found.low:.1f} to {100 * found.high:.1f} %, 95 % confidence); 95 % stay within {found.most_db:.2f} dB"
    )
    out.print(
        Text(f"parts {drawn}; drivers Mms, Cms, Bl and Re drawn together; mean level taken out", style="dim")
    )
    table = terminal.plain_table("what spoils most", "off by", "moves", "half as far off: 95 % within")
    for one in found.spoilers[:8]:
        tighter = "" if one.tighter_db is None else f"{one.tighter_db:.2f} dB"
        table.add_row(Text(one.what), f"{100 * one.off:.0f} %", f"{one.moves_db:.2f} dB", tighter)
    out.print(table)


def _show_stress(stress: Stress) -> None:
    out = terminal.out
    table = terminal.plain_table(
        f"programme noise of {stress.voltage_v:g} V", "volts (peak)", "amperes (peak)", "watts"
    )
    for one in stress.parts:
        table.add_row(
            Text(one.name),
            f"{one.volts_v:.1f} ({one.peak_v:.0f})",
            f"{one.amperes_a:.2f} ({one.peak_a:.1f})",
            f"{max(one.power_w, 0.0):.2f}",
        )
    for driver in stress.drivers:
        table.add_row(
            Text(f"{driver.name}, moves {1e3 * driver.peak_m:.2f} mm"),
            f"{driver.volts_v:.1f}",
            "",
            f"{driver.power_w:.2f}",
        )
    out.print(table)
    if stress.first_v != float("inf"):
        out.print(f"first to give out: {stress.first}, at {stress.first_v:.0f} V of programme")
    out.print(f"the amplifier sees {stress.load.sentence}")
    for one in stress.parts:
        words = heat_words(one)
        if words:
            out.print(Text(words, style="yellow"))
    out.print(Text(CAUTION, style="dim"))
