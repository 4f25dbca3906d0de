"""What a brief says of its room, its surfaces, what is near the speakers and what is played."""

from pathlib import Path

import numpy as np
import pytest

from forehear.design import Brief, Change, Design, Programme, Reflector, Standing, Uncertainty, load
from forehear.design.brief import SURFACES
from forehear.design.surfaces import OCTAVES, common_surfaces
from forehear.judge import a_weighted_level_db
from forehear.spine.translate import programme_of
from rooms.test_design import complaints

TOP = Path(__file__).parents[2]
OCTAVES_HZ = [1000.0 * 10 ** (0.3 * n) for n in range(-3, 4)]  # 125 Hz to 8 kHz, IEC 61260-1
SCREEN = "{middle: [0.05 m, 2.0 m, 1.35 m], faces: rear wall, width: 2.0 m, height: 1.1 m, absorption: 0.05}"
TABLE = (
    "{middle: [2.0 m, 1.5 m, 0.45 m], faces: up, width: 1.2 m, height: 0.6 m, absorption: {made of: door}, "
    "held by: floor}"
)


@pytest.fixture
def design(starter: Path) -> Design:
    return load(starter)


def brief_with(design: Design, *changes: tuple[tuple[str, ...], str]) -> Brief:
    return design.with_brief_changes([Change(path, text) for path, text in changes]).brief


def test_what_is_left_out_is_as_before(design: Design) -> None:
    brief = design.brief
    assert brief.room.size_m == brief.room_m == (5.2, 4.0, 2.5)
    assert brief.room.decay_time_s is None
    assert (brief.air.relative_humidity, brief.air.pressure_pa) == (0.5, 101_325.0)
    assert brief.reflectors == ()
    assert brief.programme == Programme(60.0, None, None)
    assert brief.uncertainty == Uncertainty(0.003, 0.5, 0.2, 0.05)
    assert {placement.standing for placement in design.placements} == {Standing("stand")}
    assert brief.estimated == ()


# --- surfaces


def test_every_common_surface_is_whole() -> None:
    library = common_surfaces()
    assert len(library) >= 16
    assert {surface.source for surface in library.values()} == {
        "estimated",
        "from memory, a typical textbook table",
    }
    for name, surface in library.items():
        assert surface.made_of == name
        assert len(surface.absorption) == OCTAVES
        assert all(0 < share < 1 for share in surface.absorption)
        assert name == name.lower()
        assert not set(name) & set(",:{}[]#"), "it must do without quotes"


# Noise reduction coefficient (ASTM C423: mean of 250 Hz to 2 kHz, to the nearest 0.05), as textbook tables print it
# beside these rows; from memory.
PRINTED_COEFFICIENT = {
    "plaster on masonry": "0.05",
    "plaster board on studs": "0.05",
    "painted brick": "0.00",
    "concrete": "0.00",
    "window glass": "0.15",
    "wood floor on joists": "0.10",
    "parquet on concrete": "0.05",
    "wood panelling over cavity": "0.15",
    "carpet on concrete": "0.30",
    "carpet with underlay": "0.55",
    "light curtain": "0.15",
    "heavy curtain in folds": "0.60",
}


@pytest.mark.parametrize("name", PRINTED_COEFFICIENT)
def test_the_single_number_is_the_printed_one(name: str) -> None:
    mean = float(np.mean(common_surfaces()[name].absorption[2:6]))
    assert abs(mean - float(PRINTED_COEFFICIENT[name])) <= 0.025


def test_the_words_about_files_name_every_common_surface() -> None:
    words = " ".join((TOP / "docs" / "files.md").read_text(encoding="utf-8").split())
    listed = words.split("says which): ")[1].split(".")[0].split(", ")
    assert listed == list(common_surfaces())


def test_thicker_and_softer_absorbs_more() -> None:
    of = {name: np.array(surface.absorption) for name, surface in common_surfaces().items()}
    assert (of["heavy curtain in folds"] > of["light curtain"]).all()
    assert (of["carpet with underlay"] > of["carpet on concrete"]).all()
    assert (of["carpet on concrete"] >= of["concrete"]).all()
    # a panel over air is a mass on a spring: it takes low notes, and less above (Sabine's plates, textbooks)
    for panel in ("plaster board on studs", "wood panelling over cavity", "window glass"):
        assert of[panel][1] > 2 * of[panel][4]


@pytest.mark.parametrize("name", common_surfaces())
def test_a_surface_by_its_name(design: Design, name: str) -> None:
    brief = brief_with(design, (("surfaces", "left wall"), f"{{made of: {name}}}"))
    assert tuple(brief.absorption[SURFACES.index("left wall")]) == common_surfaces()[name].absorption
    assert brief.estimated == (f"left wall: absorption of {name} ({common_surfaces()[name].source})",)


def test_an_estimated_surface_reaches_the_design(design: Design) -> None:
    changed = design.with_brief_changes([Change(("surfaces", "floor"), "{made of: thin carpet}")])
    assert changed.estimated[0] == "floor: absorption of thin carpet (estimated)"


def test_an_open_side_gives_nothing_back(design: Design) -> None:
    brief = brief_with(design, (("surfaces", "rear wall"), "open"))
    assert set(brief.absorption[SURFACES.index("rear wall")]) == {1.0}


@pytest.mark.parametrize(
    ("text", "words", "cure"),
    [
        ("{made of: concretes}", "no surface 'concretes' is known", "'concrete'"),
        ("{made of: Door}", "no surface 'Door'", "'door'"),
        ("{made of: carpet}", "no surface 'carpet'", "'thin carpet' or 'carpet on concrete'"),
        ("{made of: 3}", "found 3", "'plaster on masonry'"),
        ("{made of: {x: 1}}", "found a group of keys", "'plaster on masonry'"),
        ("{made of: door, absorption: 0.1}", "alone", "{made of: plaster on masonry}"),
        ("door", "'door' is a material", "{made of: door}"),
        ("opened", "a number is wanted", "or open"),
        ("{absorption: open}", "absorption is 'open'", "from 0 to 1"),
        ("{absorption: [0.1, 0.1, 0.1, 0.1, 1.1, 0.1, 0.1]}", "value 5 of absorption is 1.1", "0 to 1"),
    ],
)
def test_a_surface_that_is_none(design: Design, text: str, words: str, cure: str) -> None:
    (told,) = complaints(design, (("surfaces", "floor"), text), brief=True)
    assert words in told.what
    assert cure in told.cure
    assert told.where.startswith("brief.yaml:15:")


# --- the room


@pytest.mark.parametrize(
    ("text", "octaves"),
    [
        ("0.45 s", [0.45] * 8),
        ("450 ms", [0.45] * 8),
        (
            "[0.6 s, 0.5 s, 0.45 s, 0.4 s, 0.4 s, 0.4 s, 0.35 s]",
            [0.6, 0.6, 0.5, 0.45, 0.4, 0.4, 0.4, 0.35],
        ),
        (
            "[0.7 s, 0.6 s, 0.5 s, 0.45 s, 0.4 s, 0.4 s, 0.4 s, 0.35 s]",
            [0.7, 0.6, 0.5, 0.45, 0.4, 0.4, 0.4, 0.35],
        ),
    ],
)
def test_a_decay_time_for_all_octaves_or_each(design: Design, text: str, octaves: list[float]) -> None:
    assert brief_with(design, (("room", "decay time"), text)).room.decay_time_s == tuple(octaves)


def test_humid_and_thin_air(design: Design) -> None:
    air = brief_with(design, (("room", "humidity"), "30 %"), (("room", "pressure"), "900 hPa")).air
    assert (air.relative_humidity, air.pressure_pa, air.temperature_c) == (0.3, 90_000.0, 20.0)
    assert air.density_kg_m3 == pytest.approx(design.brief.air.density_kg_m3 * 900 / 1013.25)  # ideal gas


@pytest.mark.parametrize(
    ("key", "text", "words", "cure"),
    [
        ("decay time", "0.04 s", "too small; at least 0.05 s", "0.05 s or more"),
        ("decay time", "6 s", "too large; at most 5 s", "5 s or less"),
        ("decay time", "0.4", "no unit", "0.4 s"),
        ("decay time", "[0.4 s, 0.4 s]", "2 octaves found", "8 from 63 Hz or 7 from 125 Hz"),
        (
            "decay time",
            "[1 s, 1 s, 1 s, 9 s, 1 s, 1 s, 1 s]",
            "value 4 of this list: 9 s is too large",
            "5 s",
        ),
        ("decay time", "{low: 1 s}", "a time is wanted here, found a group of keys", "0.45 s"),
        ("humidity", "3 %", "at least 5 %", "5 % or more"),
        ("humidity", "120 %", "at most 100 %", "100 % or less"),
        ("humidity", "0.5", "no unit", "0.5 %"),
        ("pressure", "1 kPa", "at least 50 kPa", "50 kPa or more"),
        ("pressure", "1013 kPa", "at most 110 kPa", "110 kPa or less"),
    ],
)
def test_a_room_that_is_none(design: Design, key: str, text: str, words: str, cure: str) -> None:
    (told,) = complaints(design, (("room", key), text), brief=True)
    assert words in told.what
    assert cure in told.cure
    assert told.where.startswith("brief.yaml:7:")


# --- what is played, and how well all is known


def test_seven_octaves_of_noise_are_taken_as_told(design: Design) -> None:
    told = "[40 dB, 35 dB, 30 dB, 25 dB, 20 dB, 15 dB, -3 dB]"
    brief = brief_with(design, (("programme", "background noise"), told))
    assert brief.programme.noise_level_db == (40.0, 35.0, 30.0, 25.0, 20.0, 15.0, -3.0)


@pytest.mark.parametrize("level_db", [0.0, 30.0, 45.5])
def test_one_number_of_noise_is_an_a_weighted_level(design: Design, level_db: float) -> None:
    brief = brief_with(design, (("programme", "background noise"), f"{level_db} dB"))
    assert brief.programme.noise_level_db == level_db
    noise_db = np.array(programme_of(brief).noise_db)
    assert a_weighted_level_db(noise_db) == pytest.approx(level_db)


def test_scattering_is_told_once_or_by_octave(design: Design) -> None:
    assert brief_with(design).room.scattering is None
    assert brief_with(design, (("room", "scattering"), "0.2")).room.scattering == (0.2,) * 8
    told = "[0.0, 0.1, 0.1, 0.2, 0.2, 0.3, 0.3]"
    assert brief_with(design, (("room", "scattering"), told)).room.scattering == (
        0.0,
        0.0,
        0.1,
        0.1,
        0.2,
        0.2,
        0.3,
        0.3,
    )
    (refused,) = complaints(design, (("room", "scattering"), "1.2"), brief=True)
    assert "too large" in refused.what


def test_speech_is_read_from_either_place(design: Design) -> None:
    goal, programme = ("goals", "speech level"), ("programme", "speech level")
    assert brief_with(design, (goal, "66 dB")).programme.speech_level_db_a == 66.0
    assert brief_with(design, (programme, "54 dB")).programme.speech_level_db_a == 54.0
    assert brief_with(design, (goal, "54 dB"), (programme, "54 dB")).programme.speech_level_db_a == 54.0
    (told,) = complaints(design, (goal, "66 dB"), (programme, "54 dB"), brief=True)
    assert told.what == "the goals say a speech level of 66 dB, the programme says 54 dB"
    assert "goals > speech level" in told.where
    assert "programme" in told.cure


def test_other_speakers_and_uncertainty(design: Design) -> None:
    brief = brief_with(
        design,
        (("programme", "other speakers"), "-10 dB"),
        (("uncertainty",), "{acoustic depth: 5 mm, driver spread: 1 dB, absorption: 30 %, position: 20 mm}"),
    )
    assert brief.programme.other_speakers_db == -10.0
    assert brief.uncertainty == Uncertainty(0.005, 1.0, 0.3, 0.02)


@pytest.mark.parametrize(
    ("path", "text", "words"),
    [
        (("programme", "speech level"), "60", "no unit"),
        (("programme", "background noise"), "[30 dB, 30 dB]", "2 octaves found, 7 from 125 Hz belong"),
        (("programme", "background noise"), "130 dB", "too large"),
        (("programme", "other speakers"), "30 dB", "too large"),
        (("programme", "loudness"), "30 dB", "'loudness' is not known"),
        (("uncertainty", "absorption"), "120 %", "too large"),
        (("uncertainty", "absorption"), "0.2", "no unit"),
        (("uncertainty", "position"), "-1 mm", "too small"),
        (("uncertainty", "driver spread"), "7 dB", "too large"),
        (("uncertainty", "acoustic depth"), "60 mm", "too large"),
    ],
)
def test_a_programme_or_uncertainty_that_is_none(
    design: Design, path: tuple[str, ...], text: str, words: str
) -> None:
    (told,) = complaints(design, (path, text), brief=True)
    assert words in told.what
    assert told.where.startswith("brief.yaml:35:")
    assert told.cure


# --- reflectors


def test_reflectors_are_read(design: Design) -> None:
    brief = brief_with(design, (("reflectors", "screen"), SCREEN), (("reflectors", "table"), TABLE))
    screen, table = brief.reflectors
    place = brief.where("reflectors", "screen")
    assert screen == Reflector(
        "screen", (0.05, 2.0, 1.35), (1.0, 0.0, 0.0), 2.0, 1.1, (0.05,) * 8, place, None
    )
    assert (table.normal, table.width_m, table.height_m, table.held_by) == ((0, 0, 1), 1.2, 0.6, "floor")
    assert table.absorption == common_surfaces()["door"].absorption
    assert brief.estimated == ("table: absorption of door (from memory, a typical textbook table)",)


@pytest.mark.parametrize(
    ("old", "new", "words", "cure"),
    [
        ("[0.05 m", "[-0.05 m", "leaves the room (x is 0.05 m below 0)", "5.2 m x 4 m x 2.5 m"),
        ("width: 2.0 m", "width: 4.2 m", "leaves the room (y is 0.10 m below 0)", "shorten"),
        ("1.35 m]", "2.0 m]", "leaves the room (z is 0.05 m beyond 2.5 m)", "shorten"),
        ("rear wall", "front wall", "faces the front wall, only 50.0 mm before it", "faces: rear wall"),
        ("[0.05 m", "[1.5 m", "floats: the nearest side of the room, the ceiling, is 600.0 mm", "'held by: "),
        ("0.05}", "1.5}", "outside 0 to 1", "0 to 1"),
        ("0.05}", "open}", "a number is wanted", "{made of: ...}"),
        ("rear wall", "behind", "'behind' is not known here", "rear wall or"),
        ("width: 2.0 m, ", "", "'width' is missing", "add 'width"),
        ("[0.05 m, 2.0 m, 1.35 m]", "[3.35 m, 2.0 m, 1.35 m]", "through the head at the seat 'sofa left'", "move"),
        ("[0.05 m, 2.0 m, 1.35 m]", "[0.5 m, 2.0 m, 0.6 m]", "into the cabinet at 'left'", "move one of them by"),
    ],
)  # fmt: skip
def test_a_reflector_that_cannot_be(design: Design, old: str, new: str, words: str, cure: str) -> None:
    assert old in SCREEN
    told = complaints(design, (("reflectors", "screen"), SCREEN.replace(old, new)), brief=True)
    matching = [error for error in told if words in error.what]
    assert matching, [str(error) for error in told]
    assert cure in matching[0].cure
    assert "reflectors > screen" in matching[0].where


def test_what_has_legs_or_hangs_does_not_float(design: Design) -> None:
    bare = TABLE.replace(", held by: floor", "")
    (told,) = complaints(design, (("reflectors", "table"), bare), brief=True)
    assert "floats: the nearest side of the room, the floor, is 450.0 mm away" in told.what
    assert "held by: floor" in told.cure
    assert complaints(design, (("reflectors", "table"), TABLE), brief=True) == []
    (told,) = complaints(design, (("reflectors", "table"), TABLE.replace("floor", "legs")), brief=True)
    assert "'legs' is not known" in told.what
    assert "floor" in told.cure
