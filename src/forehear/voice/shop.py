"""Parts that can be had: what values there are, what each loses, costs and how true it is."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations_with_replacement

from forehear.network import brooks_coil, preferred_values
from forehear.parts import CapacitorPart, CoilPart, ComponentPart, ResistorPart, Stock
from forehear.voice.circuit import Sort

COPPER_KG_M3 = 8960.0
RANGES = {Sort.COIL: (0.05e-3, 12e-3), Sort.CAPACITOR: (0.47e-6, 330e-6), Sort.RESISTOR: (0.22, 100.0)}
WIRES_M = (0.6e-3, 0.8e-3, 1.0e-3, 1.2e-3, 1.4e-3)
USUAL_WIRE_M = 1.0e-3
# What parts are off by where they do not say; common practice, no source.
TOLERANCE = {Sort.COIL: 0.05, Sort.CAPACITOR: 0.05, Sort.RESISTOR: 0.05}
ELECTROLYTIC_TOLERANCE = 0.10
ELECTROLYTIC_LOSS_ANGLE = 0.05  # tangent at 1 kHz; common practice, no source
RATING_W = 10.0
# Prices where nobody says one, estimated: a base, and so much for each kilogram of copper or microfarad.
COIL_PRICE = (2.3, 31.0)
FILM_PRICE = (2.0, 0.15e6)
ELECTROLYTIC_PRICE = (1.0, 0.06e6)
RESISTOR_PRICE = 0.80


@dataclass(frozen=True)
class Offer:
    """One or two parts that fill one place: their value together, loss and price."""

    value: float
    loss_ohm: float
    price: float
    parts: tuple[ComponentPart, ...]
    side_by_side: bool = True  # how two of them are joined

    @property
    def count(self) -> int:
        """How many parts it takes."""
        return len(self.parts)


@dataclass(frozen=True)
class Shop:
    """What there is to choose from, and how parts without a price are priced."""

    values: str = "E24"
    stock: Stock | None = None
    pairs: bool = False
    largest_film_f: float = 47e-6
    dearness: tuple[tuple[Sort, float], ...] = ()  # price over that of the rule

    def priced_like(self, parts: Sequence[ComponentPart]) -> "Shop":
        """Return the same shop with prices scaled to those that some parts have, sort by sort."""
        found = []
        for sort in Sort:
            known = [part for part in parts if sort_of(part) is sort and part.price]
            if known:
                ruled = sum(self.ruled_price(part) for part in known)
                found.append((sort, sum(part.price or 0.0 for part in known) / ruled))
        return replace(self, dearness=tuple(found))

    def price(self, part: ComponentPart) -> float:
        """Price of a part: its own, else by rule."""
        if part.price is not None:
            return part.price
        return round(dict(self.dearness).get(sort_of(part), 1.0) * self.ruled_price(part), 2)

    def ruled_price(self, part: ComponentPart) -> float:
        """Price by rule, whatever the part says."""
        if isinstance(part, CoilPart):
            wire_m = part.wire_m or USUAL_WIRE_M
            build = brooks_coil(part.inductance_h, wire_m)
            base, each = COIL_PRICE
            return base + each * COPPER_KG_M3 * build.wire_length_m * math.pi * wire_m**2 / 4
        if isinstance(part, CapacitorPart):
            base, each = ELECTROLYTIC_PRICE if self.is_electrolytic(part) else FILM_PRICE
            return base + each * part.capacitance_f
        return RESISTOR_PRICE

    def is_electrolytic(self, part: CapacitorPart) -> bool:
        """Tell whether a capacitor is, or is too large to be anything else."""
        return part.electrolytic or part.capacitance_f > self.film_up_to_f

    @property
    def film_up_to_f(self) -> float:
        """Largest capacitor that is a film one."""
        listed = [] if self.stock is None else self.stock.parts
        films = [
            part.capacitance_f for part in listed if isinstance(part, CapacitorPart) and not part.electrolytic
        ]
        return max(films) if films else self.largest_film_f

    def offers(self, like: ComponentPart, around: float | None = None) -> tuple[Offer, ...]:
        """Give everything that can take the place of a part, rising in value.

        Parameters
        ----------
        like
            The part whose wire, rating and loss the others share.
        around
            Value near which pairs are looked for; no pairs where None.
        """
        single = [self._offer(part) for part in self._parts(like)]
        found = single + (list(self._pairs(single, around)) if self.pairs and around else [])
        return tuple(sorted(found, key=lambda offer: (offer.value, offer.price)))

    def _parts(self, like: ComponentPart) -> Iterator[ComponentPart]:
        sort = sort_of(like)
        listed = [] if self.stock is None else [part for part in self.stock.parts if sort_of(part) is sort]
        if listed:
            yield from listed
            return
        low, high = RANGES[sort]
        wires = wires_like(like)
        for value in values_between(self.values, low, high):
            for wire_m in wires:
                yield self.made(like, value, wire_m)

    def made(self, like: ComponentPart, value: float, wire_m: float | None = None) -> ComponentPart:
        """Return a part of another value, of the same make; its price by rule."""
        if isinstance(like, CoilPart):
            dcr_ohm = like.dcr_ohm
            if dcr_ohm is not None:
                dcr_ohm = round(dcr_ohm * (value / like.inductance_h) ** 0.6, 3)
            own_wire = None if dcr_ohm is not None else wire_m or like.wire_m or USUAL_WIRE_M
            coil = CoilPart(value, dcr_ohm, own_wire, tolerance=like.tolerance)
            return replace(coil, price=self.price(coil))
        if isinstance(like, CapacitorPart):
            esr_ohm = like.esr_ohm * like.capacitance_f / value
            capacitor = CapacitorPart(value, esr_ohm, tolerance=like.tolerance, rated_v=like.rated_v)
            if like.electrolytic or self.is_electrolytic(capacitor):
                capacitor = replace(
                    capacitor,
                    electrolytic=True,
                    esr_ohm=round(ELECTROLYTIC_LOSS_ANGLE / (2 * math.pi * 1000.0 * value), 3),
                    tolerance=max(like.tolerance or 0.0, ELECTROLYTIC_TOLERANCE),
                )
            return replace(capacitor, price=self.price(capacitor))
        resistor = ResistorPart(value, like.rating_w or RATING_W, tolerance=like.tolerance)
        return replace(resistor, price=self.price(resistor))

    def _offer(self, part: ComponentPart) -> Offer:
        return Offer(value_of(part), loss_of(part), self.price(part), (part,))

    def _pairs(self, single: Sequence[Offer], around: float) -> Iterator[Offer]:
        """Give pairs whose value together lies within a tenth of one."""
        cheapest = {offer.value: offer for offer in sorted(single, key=lambda one: -one.price)}
        for one, other in combinations_with_replacement(cheapest.values(), 2):
            sort = sort_of(one.parts[0])
            ways = (False,) if sort is Sort.COIL else (True,) if sort is Sort.CAPACITOR else (True, False)
            for side_by_side in ways:
                joined = _joined(one, other, side_by_side=side_by_side)
                if abs(joined.value / around - 1) < 0.1:
                    yield joined


def _joined(one: Offer, other: Offer, *, side_by_side: bool) -> Offer:
    """Join two equal sorts: coils in series, capacitors side by side, resistors either way."""
    total, parts = one.value + other.value, one.parts + other.parts
    price = one.price + other.price
    sort = sort_of(one.parts[0])
    if sort is Sort.COIL:
        return Offer(total, one.loss_ohm + other.loss_ohm, price, parts, side_by_side=False)
    if sort is Sort.CAPACITOR:  # losses in parallel, the currents shared as the capacitances are
        loss = (one.loss_ohm * one.value**2 + other.loss_ohm * other.value**2) / total**2
        return Offer(total, loss, price, parts)
    value = one.value * other.value / total if side_by_side else total
    return Offer(value, 0.0, price, parts, side_by_side)


def values_between(series: str, low: float, high: float) -> list[float]:
    """Preferred values from low to high; text makes the decades, so that each is the number it reads as."""
    found = [
        float(f"{step}e{exponent}")
        for exponent in range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
        for step in preferred_values(series)
    ]
    return [value for value in found if low * (1 - 1e-9) <= value <= high * (1 + 1e-9)]


def wires_like(part: ComponentPart) -> tuple[float | None, ...]:
    """Wires of which a coil may be wound: its own, the next thinner and the next thicker one."""
    if not isinstance(part, CoilPart) or part.dcr_ohm is not None:
        return (None,)
    own_m = part.wire_m or USUAL_WIRE_M
    thinner = [wire for wire in WIRES_M if wire < own_m * 0.99][-1:]
    thicker = [wire for wire in WIRES_M if wire > own_m * 1.01][:1]
    return (*thinner, own_m, *thicker)


def sort_of(part: ComponentPart) -> Sort:
    """Tell the sort of a part."""
    if isinstance(part, CoilPart):
        return Sort.COIL
    return Sort.CAPACITOR if isinstance(part, CapacitorPart) else Sort.RESISTOR


def value_of(part: ComponentPart) -> float:
    """Give the value of a part [H, F or ohm]."""
    if isinstance(part, CoilPart):
        return part.inductance_h
    return part.capacitance_f if isinstance(part, CapacitorPart) else part.resistance_ohm


def loss_of(part: ComponentPart) -> float:
    """Give the resistance in series with a part [ohm]."""
    if isinstance(part, CoilPart):
        if part.dcr_ohm is not None:
            return part.dcr_ohm
        return brooks_coil(part.inductance_h, part.wire_m).dcr_ohm if part.wire_m else 0.0
    return part.esr_ohm if isinstance(part, CapacitorPart) else 0.0


def make_words(part: ComponentPart) -> str:
    """Say how a part is made: wire, resistance and size of a coil, kind and loss of a capacitor, rating of a resistor.

    Examples
    --------
    >>> make_words(CoilPart(1e-3, wire_m=1e-3))
    'wire 1 mm, 0.49 ohm, air coil 57 mm across and 14 mm high'
    """
    if isinstance(part, CoilPart):
        if part.dcr_ohm is not None or not part.wire_m:
            return f"{loss_of(part):.2f} ohm"
        build = brooks_coil(part.inductance_h, part.wire_m)
        across_mm, high_mm = 4e3 * build.side_m, 1e3 * build.side_m  # a bore of twice the winding's side
        size = f"air coil {across_mm:.0f} mm across and {high_mm:.0f} mm high"
        return f"wire {1e3 * part.wire_m:g} mm, {build.dcr_ohm:.2f} ohm, {size}"
    if isinstance(part, CapacitorPart):
        kind = "electrolytic" if part.electrolytic else "film"
        return f"{kind}, {part.esr_ohm:.2f} ohm" if part.esr_ohm else kind
    return f"{part.rating_w or RATING_W:g} W"


def tolerance_of(part: ComponentPart) -> float:
    """Give by what share a part may be off: as printed, else as usual for its sort."""
    if part.tolerance is not None:
        return part.tolerance
    if isinstance(part, CapacitorPart) and part.electrolytic:
        return ELECTROLYTIC_TOLERANCE
    return TOLERANCE[sort_of(part)]
