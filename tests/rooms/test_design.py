"""A design: read whole, refused with every reason and place, changed in memory, its comments kept."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear import design as rooms_of_design
from forehear.design import (
    Change,
    ClosedBox,
    Design,
    NetworkPart,
    PartBank,
    PartChain,
    Placement,
    VentedBox,
    check_design,
    load,
    load_brief,
    write_starter,
)
from forehear.design.brief import SURFACES
from forehear.design.geometry import from_front_m, speaker_axes
from forehear.ground.errors import Complaints, DesignError, ForehearError
from forehear.ground.reading.documents import complaints_of
from forehear.parts import CapacitorPart, CoilPart, ResistorPart
from forehear.room import SURFACES as SURFACES_OF_ROOM

Edit = tuple[tuple[str | int, ...], str]
CAPACITOR = ("ways", "high", "network", 0, "series", "capacitor")


def complaints(
    design: Design, *changes: tuple[tuple[str | int, ...], str], brief: bool = False
) -> list[ForehearError]:
    """Change a design or its brief and return what is said against it."""
    wanted = [Change(path, text) for path, text in changes]
    try:
        if brief:
            design.with_brief_changes(wanted)
        else:
            design.with_changes(wanted)
    except (ForehearError, Complaints) as error:
        return list(complaints_of(error))
    return []


def findings(design: Design, *changes: Edit, brief: bool = False) -> list[str]:
    wanted = [Change(path, text) for path, text in changes]
    changed = design.with_brief_changes(wanted) if brief else design.with_changes(wanted)
    return [finding.code for finding in check_design(changed)]


def test_the_starter_reads_and_raises_no_finding(starter: Path) -> None:
    design = load(starter)
    assert design.title == "First speaker"
    assert [driver.name for driver in design.drivers] == ["woofer", "tweeter"]
    assert design.driver["woofer"].centre_m == (0.0, -0.055)
    assert design.reference == "tweeter"
    assert design.reference_centre_m == (0.0, 0.075)
    low, high = design.ways
    assert (low.enclosure, high.enclosure) == (ClosedBox(0.01), None)
    assert (low.reversed, high.reversed) == (False, True)
    assert [step.kind for step in high.network] == ["series", "shunt", "series"]
    first = high.network[0].element
    assert isinstance(first, NetworkPart)
    assert first.component == CapacitorPart(5.6e-6, price=3.10)
    assert design.brief.room_m == (5.2, 4.0, 2.5)
    assert design.brief.absorption.shape == (6, 8)
    assert design.brief.seats[0].position_m == (3.4, 1.6, 1.1)
    assert design.brief.air.temperature_c == 20.0
    assert [placement.turn_rad for placement in design.own_placements] == pytest.approx(
        [math.radians(15), -math.radians(15)]
    )
    assert check_design(design) == ()
    assert "low: DCR of the coil of 1.5 mH from its wire, wound as compactly as can be" in design.estimated


def test_the_surfaces_are_those_of_the_room(starter: Path) -> None:
    assert SURFACES == SURFACES_OF_ROOM
    brief = load(starter).brief
    floor = brief.absorption[SURFACES.index("floor")]
    assert list(floor) == [0.10, 0.10, 0.15, 0.25, 0.35, 0.40, 0.45, 0.45]
    assert set(brief.absorption[SURFACES.index("left wall")]) == {0.10}


def test_seven_octaves_begin_at_125_hz(starter: Path) -> None:
    text = "[0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7]"
    brief = load(starter).with_brief_changes([Change(("surfaces", "floor", "absorption"), text)]).brief
    assert list(brief.absorption[4]) == [0.1, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7]


def test_a_network_is_a_tree(starter: Path) -> None:
    text = "[{series: [{coil: 1 mH}, {parallel: [{resistor: 8 ohm}, [{capacitor: 1 uF}, {coil: 2 mH}]]}]}]"
    low = load(starter).with_changes([Change(("ways", "low", "network"), text)]).ways[0]
    chain = low.network[0].element
    assert isinstance(chain, PartChain)
    bank = chain.elements[1]
    assert isinstance(bank, PartBank)
    inner = bank.elements[1]
    assert isinstance(inner, PartChain)
    parts = [element.component for element in inner.elements if isinstance(element, NetworkPart)]
    assert parts == [CapacitorPart(1e-6), CoilPart(2e-3)]
    resistor = bank.elements[0]
    assert isinstance(resistor, NetworkPart)
    assert resistor.component == ResistorPart(8.0)
    assert resistor.keys == ("ways", "low", "network", 0, "series", 1, "parallel", 0)


def test_a_vented_way_has_its_port_on_the_front(starter: Path) -> None:
    vented = "{vented: {volume: 9 l, tuned to: 48 Hz, port diameter: 40 mm, port centre: [-70 mm, 140 mm]}}"
    change = Change(("ways", "low", "enclosure"), vented)
    assert load(starter).with_changes([change]).ways[0].enclosure == VentedBox(
        0.009, 48.0, 0.02, (-0.07, 0.14), 7.0
    )
    told = complaints(load(starter), (change.path, vented.replace("140 mm", "-60 mm")))
    assert [error.what[:35] for error in told] == ["woofer and port of low overlap by 1"]
    assert "port centre" in told[0].where


@pytest.mark.parametrize(
    ("path", "text", "words", "cure"),
    [
        (("cabinet", "width"), "-200 mm", "too small", "0.1 mm or more"),
        (("cabinet", "width"), "0 mm", "too small", "or more"),
        (("cabinet", "width"), "200", "no unit", "200 mm"),
        (("cabinet", "width"), "2,0 m", "decimal comma", "2.0 m"),
        (("cabinet", "widdth"), "200 mm", "the key 'widdth' is not known", "'width'"),
        (("cabinet", "wall"), "120 mm", "leaves nothing", "less than 100.0 mm"),
        (("drivers", "woofer", "centre"), "[0 mm, 10 mm]", "overlap by 53.5 mm", "53.5 mm further apart"),
        (("drivers", "woofer", "centre"), "[60 mm, -55 mm]", "leaves the front by 26.5 mm", "33.5 mm"),
        (("drivers", "woofer", "centre"), "[0,5 mm, -55 mm]", "3 values", "decimal comma"),
        (("drivers", "woofer", "centre"), "[0 mm]", "missing", "all of its values"),
        (("drivers", "woofer", "centre"), "0 mm", "a list in [ ] is wanted", "a list"),
        (("drivers", "woofer", "part"), "parts/cone-13.yaml", "no file parts/cone-13", "cone-130.yaml?"),
        (("drivers", "woofer", "part"), "../../x.yaml", "outside the design's folder", "copy the file"),
        (("drivers", "woofer", "part"), "parts", "is a folder", "a file"),
        (("drivers", "third"), "{part: parts/dome-25.yaml, centre: [0 mm, 0 mm]}", "no way", "delete"),
        (("ways", "high", "drivers"), "[twitter]", "no driver 'twitter'", "'tweeter'"),
        (("ways", "high", "drivers"), "[woofer]", "already in the way 'low'", "one way"),
        (("ways", "high", "drivers"), "[]", "0 values", "at least 1"),
        (("ways", "high", "polarity"), "inverted", "'inverted' is not known", "normal or reversed"),
        (("ways", "low", "enclosure"), "{}", "either closed or vented", "write {closed"),
        (("ways", "low", "network", 0), "{seriess: {coil: 1 mH}}", "'seriess'", "'series'"),
        (("ways", "low", "network", 0, "series"), "{col: 1 mH}", "a coil, capacitor", "coil: 1.2 mH"),
        (("ways", "low", "network", 0, "series"), "[]", "empty", "at least one"),
        (CAPACITOR, "0.47 mh", "'mh' in '0.47 mh' is not a unit", "use one of uF"),
        (CAPACITOR, "0 uF", "too small", "or more"),
        (("reference",), "twetter", "no driver 'twetter'", "'tweeter'"),
        (("brief",), "briief.yaml", "no file briief.yaml", "brief.yaml?"),
        (("placements", "middle", "turn"), "3 deg", "no placement 'middle'", "position"),
        (("placements", "left", "position"), "[0.1 m, 1 m, 1 m]", "does not fit inside", "middle of"),
        (("design",), "''", "cannot be used", "plain characters"),
        (("ways",), "{}", "0 values", "at least 1"),
        (("ways",), "nothing", "a group of keys is wanted here, found 'nothing'", "a group"),
    ],
)  # fmt: skip
def test_every_slip_has_its_words_place_and_cure(
    starter: Path, path: tuple[str | int, ...], text: str, words: str, cure: str
) -> None:
    design = load(starter)
    told = complaints(design, (path, text))
    matching = [error for error in told if words in error.what]
    assert matching, [str(error) for error in told]
    assert cure in matching[0].cure
    assert matching[0].where.startswith("first-speaker.yaml:")
    assert starter.read_text() == design.document.text()  # nothing was written


@pytest.mark.parametrize(
    ("path", "text", "words"),
    [
        (("seats", "armchair", "position"), "[9 m, 1 m]", "outside the room (x is 3.80 m beyond 5.2 m)"),
        (("seats", "armchair", "position"), "[-1 m, 1 m]", "outside the room (x is 1.00 m below 0)"),
        (
            ("seats", "armchair"),
            "{position: [0.5 m, 1.1 m], ear height: 1 m}",
            "inside the cabinet at 'left'",
        ),
        (("surfaces", "floor"), "1.2", "outside 0 to 1"),
        (("surfaces", "floor"), "-0.1", "outside 0 to 1"),
        (("surfaces", "floor"), ".nan", "a number is wanted"),
        (("surfaces", "floor"), "{absorption: [0.1, 0.2]}", "2 octaves"),
        (("surfaces", "flooor"), "0.1", "the key 'flooor'"),
        (("room", "height"), "-2 m", "too small"),
        (("room", "temperature"), "293 K", "not a unit"),
        (("goals", "main seats"), "[sofa]", "no seat 'sofa'"),
        (("goals", "budget"), "300 EUR", "a bare number"),
        (("placements", "left", "design"), "none.yaml", "no file none.yaml"),
        (("placements", "left", "turn"), "0.2 rad", "not a unit of angle"),
        (("seats",), "{}", "0 values"),
    ],
)
def test_a_brief_is_refused_with_its_own_place(
    starter: Path, path: tuple[str | int, ...], text: str, words: str
) -> None:
    told = complaints(load(starter), (path, text), brief=True)
    matching = [error for error in told if words in error.what]
    assert matching, [str(error) for error in told]
    assert matching[0].where.startswith("brief.yaml:")
    assert matching[0].cure


def test_all_complaints_come_at_once(starter: Path) -> None:
    text = starter.read_text().replace("width: 200 mm", "width: 200").replace("5.6 uF", "5,6 uF")
    starter.write_text(text.replace("parts/cone-130", "parts/cone-13") + "colour: red\n")
    brief = starter.parent / "brief.yaml"
    brief.write_text(
        brief.read_text().replace("height: 2.5 m", "height: 2.5 inch").replace("floor:", "flooor:")
    )
    part = starter.parent / "parts" / "dome-25.yaml"
    part.write_text(part.read_text().replace("kind: dome", "kind: horn"))
    with pytest.raises(Complaints) as caught:
        load(starter)
    told = [(error.where.split(":")[0], error.what[:24]) for error in caught.value.errors]
    assert told == [
        ("first-speaker.yaml", "200 has no unit"),
        ("first-speaker.yaml", "the key 'colour' is not "),
        ("brief.yaml", "'inch' in '2.5 inch' is "),
        ("brief.yaml", "'floor' is missing"),
        ("brief.yaml", "the key 'flooor' is not "),
        ("first-speaker.yaml", "there is no file parts/c"),
        ("parts/dome-25.yaml", "'horn' is not known here"),
        ("first-speaker.yaml", "a decimal comma splits t"),
    ]


@pytest.mark.parametrize(
    ("path", "text", "code", "brief"),
    [
        (("seats", "armchair", "position"), "[0.3 m, 3.4 m]", "seat-behind-front", True),
        (("ways", "low", "enclosure"), "{closed: 30 l}", "enclosure-too-large", False),
        (("cabinet", "depth"), "70 mm", "driver-too-deep", False),
        (("cabinet", "height"), "460 mm", "larger-than-asked", False),
        (("goals", "budget"), "100", "over-budget", True),
    ],
)
def test_what_deserves_a_look_is_a_finding(
    starter: Path,
    path: tuple[str | int, ...],
    text: str,
    code: str,
    brief: bool,  # noqa: FBT001
) -> None:
    assert code in findings(load(starter), (path, text), brief=brief)


def test_the_cost_is_of_all_speakers(starter: Path) -> None:
    design = load(starter)
    # by hand: 41.50 + 29.00 + 9.80 + 4.20 + 0.90 + 3.10 + 5.40 + 0.90 = 94.80 each, two of them
    assert "over-budget" not in findings(design, (("goals", "budget"), "189.60"), brief=True)
    changed = design.with_brief_changes([Change(("goals", "budget"), "189.5")])
    assert "2 of these cost 189.60 EUR, the budget is 189.50 EUR" in check_design(changed)[0].what


def test_a_change_is_checked_like_a_file_and_keeps_comments(starter: Path) -> None:
    design = load(starter)
    changed = design.with_changes(
        [Change(CAPACITOR, "4.7 uF"), Change(("placements", "left", "turn"), "20 deg")]
    )
    assert changed.placements[0].turn_rad == pytest.approx(math.radians(20))
    assert changed.placements[0].position_m == design.placements[0].position_m
    assert changed.placements[0].where.startswith("first-speaker.yaml:")
    assert changed.drivers[0].part is design.drivers[0].part  # parts are not read again
    assert load(starter).design_hash == design.design_hash != changed.design_hash
    changed.save()
    assert load(starter).design_hash == changed.design_hash
    expected = design.document.text().replace("5.6 uF", "4.7 uF") + "placements: {left: {turn: 20 deg}}\n"
    assert starter.read_text() == expected


def test_the_hash_hears_values_not_comments(starter: Path) -> None:
    before = load(starter).design_hash
    starter.write_text("# another remark\n" + starter.read_text())
    assert load(starter).design_hash == before
    part = starter.parent / "parts" / "dome-25.yaml"
    part.write_text(part.read_text().replace("2.9 N/A", "3.0 N/A"))
    assert load(starter).design_hash != before


def test_other_designs_may_stand_in_the_room(starter: Path) -> None:
    other = starter.parent / "other.yaml"
    other.write_text(starter.read_text())
    brief = starter.parent / "brief.yaml"
    brief.write_text(brief.read_text().replace("turn: -15 deg", "turn: -15 deg, design: other.yaml"))
    design = load(starter)
    assert [placement.design_path for placement in design.placements] == [None, other]
    assert [placement.name for placement in load(other).own_placements] == ["left", "right"]
    brief.write_text(brief.read_text().replace("turn: 15 deg", "turn: 15 deg, design: other.yaml"))
    with pytest.raises(DesignError, match="stands nowhere"):
        load(starter)


def test_a_starter_is_never_written_over_anything(tmp_path: Path) -> None:
    written = write_starter(tmp_path / "new")
    assert [path.relative_to(tmp_path / "new").as_posix() for path in written] == [
        "brief.yaml", "first-speaker.yaml", "parts/cone-130.yaml", "parts/dome-25.yaml",
    ]  # fmt: skip
    with pytest.raises(DesignError, match=r"already holds brief\.yaml"):
        write_starter(tmp_path / "new")
    (tmp_path / "file").write_text("x")
    with pytest.raises(ForehearError):
        write_starter(tmp_path / "file")


def test_a_brief_reads_by_itself(starter: Path) -> None:
    assert load_brief(starter.parent / "brief.yaml").title == "First room"


def test_schemas_name_every_key_that_is_read(starter: Path) -> None:
    design = load(starter)
    for schema, document in (
        (rooms_of_design.design_schema(), design.document),
        (rooms_of_design.brief_schema(), design.brief.document),
        (rooms_of_design.driver_schema(), design.drivers[0].part.document),
    ):
        assert set(document.plain()) <= set(schema["properties"])
        assert set(schema["required"]) <= set(document.plain())
        assert schema["additionalProperties"] is False


angles = st.floats(-math.pi, math.pi)
points = st.tuples(*[st.floats(-5.0, 5.0)] * 3)


@given(points, points, angles, st.floats(-1.5, 1.5))
def test_axes_of_a_speaker_turn_left_and_tilt_up(
    position: tuple[float, float, float], point: tuple[float, float, float], turn: float, tilt: float
) -> None:
    placement = Placement("x", position, turn, tilt, None, "")
    axes = speaker_axes(placement)
    np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)
    assert np.linalg.det(axes) == pytest.approx(1.0)
    # the way it faces, in spherical coordinates: azimuth is the turn, elevation the tilt
    facing = [math.cos(tilt) * math.cos(turn), math.cos(tilt) * math.sin(turn), math.sin(tilt)]
    np.testing.assert_allclose(axes[:, 0], facing, atol=1e-12)
    seen = from_front_m(placement, np.array(point))
    np.testing.assert_allclose(np.array(position) + axes @ seen, point, atol=1e-9)
