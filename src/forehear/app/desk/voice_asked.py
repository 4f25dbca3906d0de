"""What a page may ask of the Voice panel, checked word by word, and what the panel offers to begin with."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from forehear.app.desk.messages import number_in
from forehear.design import Design
from forehear.ground.errors import DesignError
from forehear.voice import Asked, Draw, Search, Shop, Wish, wish_of

MOST = 1e6
MOST_BUILDS = 20_000
MOST_ORDERS = 4
VOLTAGE_V = 10.0  # of the programme, unless the page says otherwise
SERIES = ("E6", "E12", "E24")
WEIGHTS = ("seats", "on_axis", "listening_window", "speech_coverage")
LIMITS = (
    ("slope_db_per_octave", -MOST),
    ("lowest_impedance_ohm", 1e-3),
    ("lowest_level_db", -MOST),
    ("most_cost", 0.0),
)
SWITCHES = ("pairs", "keep_polarity", "all_parts", "no_more")


@dataclass(frozen=True)
class Order:
    """One search, as a page orders it."""

    asked: Asked
    seats: tuple[str, ...] | None  # that count; those of the brief where None
    values: str | None
    pairs: bool
    search: Search

    def for_design(self, design: Design) -> tuple[Design, Wish]:
        """Return the design with the seats that count, and what is strived for.

        Raises
        ------
        DesignError
            When it names a seat that is not there, or asks for nothing.
        """
        goals, told = design.brief.goals, design.brief.goals.voicing
        if self.seats is not None and set(self.seats) != set(goals.main_seats):
            _refuse_unknown(self.seats, [seat.name for seat in design.brief.seats])
            brief = replace(design.brief, goals=replace(goals, main_seats=self.seats))
            design = replace(design, brief=brief)
        shop = Shop(self.values or told.values, told.stock, told.pairs or self.pairs, told.largest_film_f)
        return design, wish_of(design, self.asked, shop)


def goal_of(design: Design) -> dict[str, Any]:
    """Return what a design's brief asks for, as the panel shows and sends it; null where it asks nothing."""
    goals, told = design.brief.goals, design.brief.goals.voicing
    limits = wish_of(design, Asked(seats=1.0)).goal.limits
    return {
        **{name: getattr(told, name) for name in WEIGHTS},
        "main_seats": list(goals.main_seats) or [seat.name for seat in design.brief.seats],
        "slope_db_per_octave": goals.in_room_slope_db_per_octave,
        "lowest_impedance_ohm": limits.lowest_impedance_ohm,
        "lowest_level_db": limits.lowest_level_db,
        "most_parts": limits.most_parts,
        "most_cost": limits.most_cost,
        "values": told.values,
        "pairs": told.pairs,
        "keep_polarity": False,
        "all_parts": False,
        "no_more": False,
        "orders": [],
        "seed": 1,
    }


def search_in(message: Mapping[str, Any]) -> Order:
    """Return the search that a message orders; what it leaves out is as the brief has it."""
    goal = message.get("goal")
    if not isinstance(goal, dict):
        raise _unusable("a search without a 'goal'")
    numbers = {name: _number(goal, name, 0.0) for name in WEIGHTS}
    numbers |= {name: _number(goal, name, least) for name, least in LIMITS}
    keep_polarity, all_parts, no_more = (_switch(goal, name) for name in SWITCHES[1:])
    search = Search(
        seed=_whole(goal, "seed") or 1,
        turned=not keep_polarity,
        fewer=not all_parts,
        more=not no_more,
        orders=_orders(goal),
    )
    asked = Asked(**numbers, most_parts=_whole(goal, "most_parts"))
    return Order(asked, _names(goal, "main_seats"), _series(goal), _switch(goal, "pairs"), search)


def builds_in(message: Mapping[str, Any]) -> Draw:
    """Return how a message wants builds drawn."""
    usual = Draw()
    builds = _whole(message, "builds") or usual.builds
    if builds > MOST_BUILDS:
        raise DesignError(f"{builds} builds", cure=f"ask for at most {MOST_BUILDS}")
    within_db = _number(message, "within_db", 1e-3)
    return Draw(
        builds,
        usual.within_db if within_db is None else within_db,
        normal=_switch(message, "normal"),
        one_batch=_switch(message, "one_batch"),
        seed=_whole(message, "seed") or 1,
    )


def voltage_in(message: Mapping[str, Any]) -> float:
    """Return the voltage of programme that a message names."""
    return _number(message, "voltage_v", 1e-3) or VOLTAGE_V


def offer_in(message: Mapping[str, Any]) -> tuple[int, int]:
    """Return which network a message means: of which search, and its place in the short list."""
    return number_in(message, "search"), number_in(message, "offer")


def _number(given: Mapping[str, Any], name: str, least: float) -> float | None:
    value = given.get(name)
    if value is None:
        return None
    if not isinstance(value, int | float) or isinstance(value, bool) or not least <= value <= MOST:
        raise DesignError(
            f"{_words(name)}: {str(value)[:20]!r} is not a number from {least:g} to {MOST:g}",
            cure="write another number",
        )
    return float(value)


def _whole(given: Mapping[str, Any], name: str) -> int | None:
    value = _number(given, name, 1.0)
    if value is not None and value != int(value):
        raise DesignError(f"{_words(name)}: {value:g} is not a whole number", cure="write a whole number")
    return None if value is None else int(value)


def _switch(given: Mapping[str, Any], name: str) -> bool:
    value = given.get(name, False)
    if not isinstance(value, bool):
        raise _unusable(f"{name!r} that is neither true nor false")
    return value


def _series(goal: Mapping[str, Any]) -> str | None:
    values = goal.get("values")
    if values is not None and values not in SERIES:
        raise DesignError(
            f"{str(values)[:20]!r} is no series of values", cure=f"name one of {', '.join(SERIES)}"
        )
    return values


def _orders(goal: Mapping[str, Any]) -> tuple[int, ...]:
    orders = goal.get("orders", [])
    known = range(1, MOST_ORDERS + 1)
    if not isinstance(orders, list) or not all(
        order in known and not isinstance(order, bool) for order in orders
    ):
        raise _unusable(f"'orders' that are no list of numbers from 1 to {MOST_ORDERS}")
    return tuple(sorted({int(order) for order in orders}))


def _names(goal: Mapping[str, Any], name: str) -> tuple[str, ...] | None:
    names = goal.get(name)
    if names is None:
        return None
    if not isinstance(names, list) or not all(isinstance(one, str) for one in names):
        raise _unusable(f"{name!r} that is no list of names")
    if not names:
        raise DesignError("no seat counts", cure="choose at least one seat, or give seats no weight")
    return tuple(names)


def _refuse_unknown(names: tuple[str, ...], known: list[str]) -> None:
    for name in names:
        if name not in known:
            raise DesignError(f"there is no seat {name[:40]!r}", cure=f"name one of {', '.join(known)}")


def _words(name: str) -> str:
    return name.removesuffix("_ohm").removesuffix("_db").removesuffix("_v").replace("_", " ")


def _unusable(what: str) -> DesignError:
    return DesignError(f"the page sent {what}", cure="load the page again")
