"""Findings that need no solving: what the designer should look at before anything is predicted."""

import math
from collections.abc import Iterator

import numpy as np

from forehear.design.design import Design, VentedBox, network_parts
from forehear.design.geometry import from_front_m
from forehear.ground.findings import Finding, Level
from forehear.parts import check_driver

HALF_A_CENT = 0.005  # sums of prices are rounded like prices


def check_design(design: Design) -> tuple[Finding, ...]:
    """Return what is worth a look: the data of the parts, seats, volumes, sizes and budget."""
    return (
        *_parts(design),
        *_seats(design),
        *_volumes(design),
        *_depths(design),
        *_largest_size(design),
        *_budget(design),
    )


def _check(code: str, what: str, where: str, cure: str) -> Finding:
    return Finding(Level.CHECK, code, what, where=where, cure=cure)


def _parts(design: Design) -> Iterator[Finding]:
    parts = {driver.part.document.label: driver.part for driver in design.drivers}
    for part in parts.values():
        yield from check_driver(part)


def _seats(design: Design) -> Iterator[Finding]:
    for placement in design.own_placements:
        for seat in design.brief.seats:
            ahead_m = from_front_m(placement, np.array(seat.position_m))[0]
            if ahead_m <= 0:
                yield _check(
                    "seat-behind-front",
                    f"The seat {seat.name!r} is {-ahead_m:.2f} m behind the front of the speaker at "
                    f"{placement.name!r}; what it hears is estimated.",
                    design.brief.where("seats", seat.name, "position"),
                    "move the seat or turn the speaker toward it",
                )


def inside_volume_m3(design: Design) -> float:
    """Air inside the walls, drivers and braces not yet taken off."""
    cabinet = design.cabinet
    sides = (cabinet.width_m, cabinet.height_m, cabinet.depth_m)
    return math.prod(max(side - 2 * cabinet.wall_m, 0.0) for side in sides)


def _volumes(design: Design) -> Iterator[Finding]:
    enclosures = [(way.name, way.enclosure) for way in design.ways if way.enclosure]
    wanted = sum(enclosure.volume_m3 for _, enclosure in enclosures)
    inside = inside_volume_m3(design)
    if wanted > inside:
        name, enclosure = max(enclosures, key=lambda pair: pair[1].volume_m3)
        kind = "vented" if isinstance(enclosure, VentedBox) else "closed"
        yield _check(
            "enclosure-too-large",
            f"The ways ask for {wanted * 1e3:.1f} l, but inside its walls "
            f"the cabinet holds {inside * 1e3:.1f} l.",
            design.where("ways", name, "enclosure", kind),
            "make the cabinet larger or the enclosures smaller",
        )


def _depths(design: Design) -> Iterator[Finding]:
    free_m = design.cabinet.depth_m - design.cabinet.wall_m
    for driver in design.drivers:
        depth_m = driver.part.depth_m
        if depth_m is not None and depth_m + driver.set_back_m > free_m:
            yield _check(
                "driver-too-deep",
                f"{driver.name} needs {(depth_m + driver.set_back_m) * 1e3:.0f} mm behind the front, "
                f"the cabinet has {free_m * 1e3:.0f} mm.",
                design.where("cabinet", "depth"),
                "make the cabinet deeper or choose a shallower driver",
            )


def _largest_size(design: Design) -> Iterator[Finding]:
    cabinet = design.cabinet
    sizes = (("width", cabinet.width_m), ("height", cabinet.height_m), ("depth", cabinet.depth_m))
    for (name, size_m), largest_m in zip(sizes, design.brief.goals.largest_size_m, strict=True):
        if largest_m is not None and size_m > largest_m:
            yield _check(
                "larger-than-asked",
                f"The {name} is {size_m * 1e3:.0f} mm, the brief allows {largest_m * 1e3:.0f} mm.",
                design.where("cabinet", name),
                f"make the {name} smaller, or change the brief",
            )


def cost(design: Design) -> tuple[float, tuple[str, ...]]:
    """Return the price of the drivers and components of one speaker, and what has no price."""
    total, missing = 0.0, []
    prices = [(driver.name, driver.part.price) for driver in design.drivers]
    for way in design.ways:
        for step in way.network:
            prices += [(f"{way.name} network", part.component.price) for part in network_parts(step.element)]
    for name, price in prices:
        total += price or 0.0
        if price is None:
            missing.append(name)
    return total, tuple(dict.fromkeys(missing))


def _budget(design: Design) -> Iterator[Finding]:
    budget = design.brief.goals.budget
    each, missing = cost(design)
    count = len(design.own_placements)
    if budget is None or each * count <= budget + HALF_A_CENT:
        return
    currency = f" {design.brief.currency}" if design.brief.currency else ""
    least = "at least " if missing else ""
    yield _check(
        "over-budget",
        f"{count} of these cost {least}{each * count:.2f}{currency}, the budget is {budget:.2f}{currency}.",
        design.brief.where("goals", "budget"),
        "choose cheaper parts, or change the budget",
    )
