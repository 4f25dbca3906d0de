"""What parts there are, what two of them make, and what they cost and lose."""

import math
from pathlib import Path

import numpy as np
import pytest

from forehear.ground.errors import Complaints, DesignError
from forehear.network import Bank, Capacitor, Chain, Coil, Resistor, element_impedance
from forehear.network.coils import multilayer_inductance_h
from forehear.parts import CapacitorPart, CoilPart, ComponentPart, ResistorPart, Stock, load_stock
from forehear.voice.circuit import Sort
from forehear.voice.shop import ELECTROLYTIC_TOLERANCE, Offer, Shop, brooks_coil, tolerance_of, values_between

DRAWER = Stock(
    (CapacitorPart(3.3e-6, 0.02), CapacitorPart(4.7e-6, 0.01), CapacitorPart(8.2e-6, 0.0)), "stock.yaml"
)


def test_e24_between_two_values() -> None:
    assert values_between("E6", 1e-6, 1e-5) == [1e-6, 1.5e-6, 2.2e-6, 3.3e-6, 4.7e-6, 6.8e-6, 1e-5]
    assert len(values_between("E24", 1e-6, 1e-4)) == 49


def test_offers_of_a_stock_are_the_stock() -> None:
    found = Shop(stock=DRAWER).offers(CapacitorPart(5e-6))
    assert [offer.value for offer in found] == [3.3e-6, 4.7e-6, 8.2e-6]
    coils = Shop("E6", stock=DRAWER).offers(
        CoilPart(1e-3, wire_m=1e-3)
    )  # none in the drawer: from the series
    assert {offer.value for offer in coils} == set(values_between("E6", 0.05e-3, 12e-3))


def impedance_of(offer: Offer, hz: float) -> complex:
    def element(part: ComponentPart) -> Coil | Capacitor | Resistor:
        if isinstance(part, CoilPart):
            return Coil(part.inductance_h, part.dcr_ohm or 0.0)
        if isinstance(part, CapacitorPart):
            return Capacitor(part.capacitance_f, part.esr_ohm)
        return Resistor(part.resistance_ohm)

    elements = tuple(element(part) for part in offer.parts)
    joined = Bank(elements) if offer.side_by_side else Chain(elements)
    return complex(element_impedance(joined, np.array([hz]))[0])


@pytest.mark.parametrize(
    ("like", "stock"),
    [
        (CapacitorPart(8e-6), DRAWER),
        (ResistorPart(3.0), Stock((ResistorPart(2.2), ResistorPart(4.7), ResistorPart(8.2)), "")),
        (CoilPart(1e-3), Stock((CoilPart(0.47e-3, 0.2), CoilPart(0.33e-3, 0.1)), "")),
    ],
)
def test_two_parts_are_what_the_network_makes_of_them(like: ComponentPart, stock: Stock) -> None:
    around = {Sort.CAPACITOR: 8e-6, Sort.RESISTOR: 3.0, Sort.COIL: 0.8e-3}
    sort = {CapacitorPart: Sort.CAPACITOR, ResistorPart: Sort.RESISTOR, CoilPart: Sort.COIL}[type(like)]
    pairs = [offer for offer in Shop(stock=stock, pairs=True).offers(like, around[sort]) if offer.count == 2]
    assert pairs
    hz = 10.0  # low, where losses in parallel share as the capacitances do
    jw = 2j * math.pi * hz
    for offer in pairs:
        own = {
            Sort.CAPACITOR: 1 / (jw * offer.value) + offer.loss_ohm,
            Sort.COIL: jw * offer.value + offer.loss_ohm,
            Sort.RESISTOR: complex(offer.value),
        }[sort]
        assert impedance_of(offer, hz) == pytest.approx(own, rel=1e-6)


def test_large_capacitors_are_electrolytic() -> None:
    shop = Shop(largest_film_f=33e-6)
    film, electrolytic = shop.made(CapacitorPart(10e-6), 33e-6), shop.made(CapacitorPart(10e-6), 47e-6)
    assert isinstance(film, CapacitorPart)
    assert isinstance(electrolytic, CapacitorPart)
    assert not film.electrolytic
    assert electrolytic.electrolytic
    assert tolerance_of(electrolytic) == ELECTROLYTIC_TOLERANCE
    # Loss angle of 0.05 at 1 kHz: ESR = 0.05 / (2 pi 1000 C).
    assert electrolytic.esr_ohm == pytest.approx(0.05 / (2 * math.pi * 1e3 * 47e-6), abs=6e-4)
    assert Shop(stock=DRAWER).film_up_to_f == 8.2e-6


def test_prices_follow_those_of_the_design() -> None:
    known = (CoilPart(1e-3, wire_m=1e-3, price=20.0), ResistorPart(4.7, price=1.6))
    shop = Shop().priced_like(known)
    assert shop.price(shop.made(known[0], 1e-3)) == pytest.approx(20.0, abs=0.01)
    assert shop.price(shop.made(known[1], 10.0)) == pytest.approx(1.6)


def test_a_wound_coil_has_the_inductance_wheeler_gives_it() -> None:
    """A Brooks coil's mean radius is 1.5 of its side; Wheeler 1928 claims about 1 % for such shapes."""
    for henry in (0.1e-3, 1e-3, 10e-3):
        build = brooks_coil(henry, 1e-3)
        by_wheeler = multilayer_inductance_h(1.5 * build.side_m, build.side_m, build.side_m, build.turns)
        assert by_wheeler == pytest.approx(henry, rel=0.02)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("parts: []\n", "an empty list"),
        ("parts: 3\n", "found 3"),
        ("title: drawer\n", "found nothing"),
        ("parts:\n  - {capacitor: 3.3}\n", "has no unit"),
        ("parts:\n  - {coil: 1 mH, bypassed: true}\n", "cannot be bypassed"),
        ("parts:\n  - {coil: 1 mH, tolerance: 80 %}\n", "too large"),
        ("prats:\n  - {coil: 1 mH}\n", "not known here"),
    ],
)
def test_a_stock_that_cannot_be_used_is_refused_with_its_place(tmp_path: Path, text: str, what: str) -> None:
    (tmp_path / "stock.yaml").write_text(text)
    with pytest.raises((DesignError, Complaints)) as refused:
        load_stock(tmp_path / "stock.yaml", "stock.yaml")
    assert what in str(refused.value)
    assert "stock.yaml:" in str(refused.value)
    assert "cure" in str(refused.value)


def test_a_stock_is_read(tmp_path: Path) -> None:
    (tmp_path / "stock.yaml").write_text(
        "title: drawer\nparts:\n  - {capacitor: 68 uF, electrolytic: true, voltage: 63 V, tolerance: 20 %, price: 2}\n"
    )
    (part,) = load_stock(tmp_path / "stock.yaml").parts
    assert part == CapacitorPart(68e-6, 0.0, 2.0, tolerance=0.2, electrolytic=True, rated_v=63.0)
