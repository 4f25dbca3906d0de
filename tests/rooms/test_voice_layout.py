"""Networks changed, grown, pruned and written: what is read back is what was meant."""

from pathlib import Path

import numpy as np
import pytest

from forehear.design import Design, NetworkPart, NetworkStep, PartBank, PartChain, load
from forehear.network import Branch, Capacitor, Coil, Kind, Step, Wiring, wire_drivers
from forehear.parts import CapacitorPart, CoilPart, ResistorPart
from forehear.spine.translate import branch_of
from forehear.voice import layout_of
from forehear.voice.circuit import circuit_of
from forehear.voice.descent import Watch
from forehear.voice.layout import Layout
from forehear.voice.orders import BUTTERWORTH, ladder, layouts_of_orders
from forehear.voice.pruning import additions, pruned, settled
from forehear.voice.shop import Offer, sort_of, value_of
from forehear.voice.writing import component_text, with_layout
from rooms.attic import candidate, copied, situation
from rooms.voices import GRID, evaluator_for

NOTCH = PartChain(
    (
        NetworkPart(ResistorPart(2.0), ()),
        NetworkPart(CoilPart(0.22e-3, wire_m=1e-3), ()),
        NetworkPart(CapacitorPart(15e-6), ()),
    )
)


def values(layout: Layout) -> list[float]:
    return [value_of(part.component) for part in layout.parts]


def written(design: Design, layout: Layout) -> Design:
    return with_layout(design, layout, "Other", "Made for a test.")


def test_values_alone_leave_the_text_as_it_is_else() -> None:
    design = candidate("twin")
    layout = layout_of(design).with_offers({1: Offer(33e-6, 0.0, 3.0, (CapacitorPart(33e-6, price=3.0),))})
    made = written(design, layout)
    old, new = (one.document.text().splitlines() for one in (design, made))
    changed = [line for line in new if line not in old]
    assert len(changed) == 3  # the title, the notes, one part
    assert "      - shunt: {capacitor: 33 uF, price: 3.00}" in changed
    assert values(layout_of(made)) == values(layout)


def test_a_part_left_out_is_gone_and_comments_elsewhere_stay() -> None:
    design = candidate("trio")
    layout = layout_of(design).without(2)  # the resistor in the leg of the low way
    made = written(design, layout)
    assert values(layout_of(made)) == values(layout)
    assert "parallel" in made.document.text()  # of the wiring
    assert "the flatter slope of this way leaves it half a turn apart" in made.document.text()
    assert [way.network for way in made.ways[1:]] == [way.network for way in design.ways[1:]]


def test_pairs_steps_and_turned_ways_are_read_back() -> None:
    design = candidate("stack")
    pair = Offer(8e-6, 0.0, 5.0, (CapacitorPart(3.3e-6, price=2.0), CapacitorPart(4.7e-6, price=3.0)))
    layout = layout_of(design).with_step(0, 2, NetworkStep("shunt", NOTCH, ())).with_offers({1: pair})
    layout = layout.turned(np.array([1.0, -1.0]))
    made = written(design, layout)
    assert values(layout_of(made)) == values(layout)
    assert made.ways[1].reversed
    assert isinstance(made.ways[0].network[1].element, PartBank)
    assert isinstance(made.ways[0].network[2].element, PartChain)
    assert made.title == "Other"


def test_parts_of_their_own_files_stay(tmp_path: Path) -> None:
    folder = copied(tmp_path / "attic")
    (folder / "parts" / "coil.yaml").write_text("coil: 0.82 mH\ndcr: 0.3 ohm\n")
    path = folder / "twin.yaml"
    path.write_text(
        path.read_text().replace("{coil: 0.82 mH, wire: 1.2 mm, price: 8.90}", "{part: parts/coil.yaml}")
    )
    design = load(path)
    layout = layout_of(design)
    assert 0 not in layout.free
    made = written(design, layout.without(1))
    assert "- series: {part: parts/coil.yaml}" in made.document.text()
    assert len(made.network_parts) == len(design.network_parts) - 1


def test_a_bypassed_part_is_neither_heard_nor_lost(tmp_path: Path) -> None:
    folder = copied(tmp_path / "attic")
    path = folder / "twin.yaml"
    path.write_text(
        path.read_text().replace(
            "{coil: 0.27 mH, wire: 0.8 mm, price: 3.60}", "{coil: 0.27 mH, bypassed: true}"
        )
    )
    design = load(path)
    layout = layout_of(design)
    assert len(layout.parts) == len(design.network_parts) - 1
    assert [branch_of(way) for way in written(design, layout).ways] == [branch_of(way) for way in design.ways]


@pytest.mark.parametrize(
    ("part", "text"),
    [
        (CoilPart(0.1e-3, dcr_ohm=0.25, tolerance=0.03), "{coil: 0.1 mH, dcr: 0.25 ohm, tolerance: 3 %}"),
        (
            CapacitorPart(68e-6, 0.117, 2.5, tolerance=0.1, electrolytic=True, rated_v=63.0),
            "{capacitor: 68 uF, esr: 0.117 ohm, electrolytic: true, voltage: 63 V, tolerance: 10 %, price: 2.50}",
        ),
        (ResistorPart(3.9, 10.0, 0.8), "{resistor: 3.9 ohm, rating: 10 W, price: 0.80}"),
    ],
)
def test_parts_as_text(part: CoilPart | CapacitorPart | ResistorPart, text: str) -> None:
    assert component_text(part) == text


def test_a_notch_is_suggested_where_it_pays_and_its_gain_is_shown() -> None:
    """The target holds a notch; the network has none, and nothing else can make one."""
    solved = situation("stack")
    base = layout_of(solved.design).with_wires()
    target = base.with_step(0, 2, NetworkStep("shunt", NOTCH, ()))
    impedance = solved.speaker.impedance.impedance_ohm
    load_ohm = np.stack(
        [wire_drivers(impedance[row : row + 1, row : row + 1], Wiring.PARALLEL)[0] for row in (0, 1)]
    )
    like = evaluator_for(
        [branch_of(way) for way in base.ways], load_ohm, [branch_of(way) for way in target.ways]
    )
    grown = settled(base, like, Watch())
    found = additions(grown, np.random.default_rng(1), Watch())
    assert found[0].doing in (
        "a notch across 'low'",
        "flattening of the impedance of 'low'",
        "a trap before 'low'",
    )
    assert found[0].gained_db > 0.5 * grown.goal_db
    assert found[0].gained_db == pytest.approx(grown.goal_db - found[0].grown.goal_db)


def test_nothing_is_suggested_where_nothing_is_missing() -> None:
    solved = situation("stack")
    base = layout_of(solved.design).with_wires()
    impedance = solved.speaker.impedance.impedance_ohm
    load_ohm = np.stack([impedance[0, 0], impedance[1, 1]])
    branches = [branch_of(way) for way in base.ways]
    grown = settled(base, evaluator_for(branches, load_ohm, branches), Watch())
    assert grown.goal_db < 1e-6
    assert additions(grown, np.random.default_rng(1), Watch()) == []


def test_a_part_that_does_nothing_is_left_out_first() -> None:
    solved = situation("stack")
    own = layout_of(solved.design).with_wires()
    idle = NetworkStep("shunt", NetworkPart(ResistorPart(100.0), ()), ())
    more = own.with_step(0, 2, idle)
    impedance = solved.speaker.impedance.impedance_ohm
    load_ohm = np.stack([impedance[0, 0], impedance[1, 1]])
    branches = [branch_of(way) for way in own.ways]
    like = evaluator_for(branches, load_ohm, branches)
    shorter = next(pruned(settled(more, like, Watch()), Watch()))
    assert [sort_of(part.component) for part in shorter.layout.parts] == [
        sort_of(part.component) for part in own.parts
    ]
    assert shorter.goal_db < 0.05


@pytest.mark.parametrize("order", BUTTERWORTH)
@pytest.mark.parametrize("high_pass", [False, True])
def test_ladders_have_the_response_of_butterworth(order: int, *, high_pass: bool) -> None:
    """Closed form: |H|^2 = 1 / (1 + x^2n)."""
    parts = ladder(order, 8.0, 1000.0, high_pass=high_pass)
    steps = tuple(
        Step(Kind(kind), Coil(part.inductance_h) if isinstance(part, CoilPart) else Capacitor(value_of(part)))
        for kind, part in parts
    )
    circuit, own, losses = circuit_of(
        [Branch("a", ("a",), steps)], np.full((1, 240), 8.0 + 0j), GRID.frequency_hz
    )
    found = np.abs(circuit.solve(own[np.newaxis], losses[np.newaxis]).volts[0, 0]) ** 2
    x = GRID.frequency_hz / 1000.0
    x = 1 / x if high_pass else x
    np.testing.assert_allclose(found, 1 / (1 + x ** (2 * order)), rtol=1e-6)


def test_every_choice_of_orders_is_tried() -> None:
    found = list(layouts_of_orders(situation("twin"), (1, 2, 3)))
    assert sorted(len(layout.parts) - 1 for layout in found) == [
        2,
        3,
        3,
        4,
        4,
        4,
        5,
        5,
        6,
    ]  # a pad in the high way
