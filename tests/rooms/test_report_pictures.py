"""Pictures put every value where it belongs."""

import re
import struct
import zlib
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.design import Reflector, Standing
from forehear.ground.axes import ORBIT_ANGLES_DEG, FrequencyGrid
from forehear.judge import beamwidth
from forehear.publish.candidate import minus_six_lines
from forehear.publish.markup import Markup
from forehear.publish.pictures.axes import FREQUENCY_TICKS, apart, even_ticks, frequency_scale
from forehear.publish.pictures.bars import signed_bars
from forehear.publish.pictures.colours import viridis
from forehear.publish.pictures.lines import Line, Strip, chart, level_range
from forehear.publish.pictures.plan import room_plan
from forehear.publish.pictures.png import palette_png
from forehear.publish.scene import RoomScene, StandingBoard, StandingSeat, StandingSpeaker, room_scene
from forehear.publish.tables import third_octaves
from rooms.synthetic import made_up

# The table of viridis as matplotlib holds it (public domain), in 8 bits; entries between our anchors.
VIRIDIS = {
    30: (71, 42, 122),
    64: (59, 82, 139),
    100: (42, 118, 142),
    127: (33, 144, 141),
    160: (40, 174, 128),
    200: (112, 207, 87),
    230: (189, 223, 38),
}
GRID = FrequencyGrid.standard()


@pytest.mark.parametrize("entry", list(VIRIDIS))
def test_viridis_follows_its_table(entry: int) -> None:
    assert np.max(np.abs(viridis()[entry].astype(int) - np.array(VIRIDIS[entry]))) <= 7


def test_viridis_grows_lighter_all_the_way() -> None:
    # Relative luminance of WCAG 2: linear light, weights 0.2126, 0.7152, 0.0722.
    share = viridis() / 255
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    assert np.all(np.diff(linear @ [0.2126, 0.7152, 0.0722]) > -1e-3)


def test_frequency_ticks_are_evenly_spaced_in_decades() -> None:
    scale = frequency_scale(0.0, 300.0)
    assert list(FREQUENCY_TICKS.values()) == ["20", "50", "100", "200", "500", "1k", "2k", "5k", "10k", "20k"]
    assert [scale.at(f) for f in (20.0, 200.0, 2000.0, 20_000.0)] == pytest.approx([0.0, 100.0, 200.0, 300.0])


@given(st.lists(st.floats(-50, 250), min_size=1, max_size=6))
def test_labels_keep_apart_and_in_order(wanted: list[float]) -> None:
    placed = apart(wanted, 14.0, 0.0, 200.0)
    assert all(-1e-9 <= y <= 200 + 1e-9 for y in placed)
    ordered = sorted(placed)
    assert all(b - a >= 14 - 1e-9 for a, b in pairwise(ordered))
    for (a, pa), (b, pb) in zip(*[list(zip(wanted, placed, strict=True))] * 2, strict=True):
        assert (a < b) <= (pa <= pb)


@given(st.lists(st.floats(20, 180), min_size=1, max_size=4))
def test_labels_that_have_room_stay(wanted: list[float]) -> None:
    ordered = sorted(wanted)
    if all(b - a >= 14 for a, b in pairwise(ordered)):
        assert apart(wanted, 14.0, 0.0, 200.0) == pytest.approx(wanted)


def _polylines(picture: str, look: str) -> list[list[tuple[float, float]]]:
    found = re.findall(rf'<polyline points="([^"]*)" class="line {look}', picture)
    return [[tuple(map(float, p.split(","))) for p in points.split()] for points in found]  # type: ignore[misc]


def test_a_curve_passes_where_its_axis_says() -> None:
    level = np.where(GRID.frequency_hz < 1000, 80.0, 60.0)
    picture = chart(
        "Steps", GRID.frequency_hz, [Strip([Line("a", level, "l0", labelled=False)], 50.0, 90.0, 10.0, " dB")]
    )
    (curve,) = _polylines(picture, "l0")
    ticks = {
        words: float(y)
        for y, words in re.findall(r'y="([\d.]+)" text-anchor="end" class="tick">(\d+)', picture)
    }
    assert curve[0][1] + 4 == pytest.approx(ticks["80"], abs=0.11)
    assert curve[-1][1] + 4 == pytest.approx(ticks["60"], abs=0.11)
    at_1k = float(re.search(r'<text x="([\d.]+)"[^>]*>1k</text>', picture).group(1))  # type: ignore[union-attr]
    step = next(i for i, (_, y) in enumerate(curve) if y != curve[0][1])
    assert curve[step - 1][0] < at_1k < curve[step][0]


def test_gaps_in_a_curve_are_not_drawn() -> None:
    level = np.where(GRID.frequency_hz < 1000, 80.0, np.nan)
    picture = chart(
        "Half", GRID.frequency_hz, [Strip([Line("a", level, "l0", labelled=False)], 50.0, 90.0, 10.0, " dB")]
    )
    assert "nan" not in picture
    assert len(_polylines(picture, "l0")[0]) == int(np.sum(GRID.frequency_hz < 1000))


@given(st.floats(40, 100), st.floats(0, 40))
def test_a_level_axis_holds_its_curves(top: float, drop: float) -> None:
    level = top - drop * (GRID.frequency_hz > 500)
    low, high = level_range([level], GRID)
    assert low < float(level.min())
    assert float(level.max()) < high
    assert low % 5 == high % 5 == 0


def test_minus_six_lines_of_a_cardioid() -> None:
    # A cardioid of amplitude (1 + cos) / 2 falls to one half, 6.02 dB, at 90 degrees: closed form.
    level = 20 * np.log10(np.maximum((1 + np.cos(np.radians(ORBIT_ANGLES_DEG))) / 2, 1e-6))
    upper, lower = minus_six_lines(beamwidth(10 ** (np.repeat(level[:, np.newaxis], 3, axis=1) / 10)))
    assert upper == pytest.approx(90.0, abs=0.5)
    assert lower == pytest.approx(-90.0, abs=0.5)
    everywhere, _ = minus_six_lines(beamwidth(np.ones((72, 3))))
    assert np.all(np.isnan(everywhere))


def test_png_chunks_and_rows() -> None:
    # PNG, ISO/IEC 15948: signature; length, kind, data, CRC-32 of kind and data; each row led by its filter.
    pixels = np.arange(12, dtype=np.uint8).reshape(3, 4)
    data = palette_png(pixels, viridis())
    assert data[:8] == bytes([137, 80, 78, 71, 13, 10, 26, 10])
    at, chunks = 8, {}
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        assert struct.unpack(">I", data[at + 8 + length : at + 12 + length])[0] == zlib.crc32(kind + body)
        chunks[kind] = body
        at += 12 + length
    assert list(chunks) == [b"IHDR", b"PLTE", b"IDAT", b"IEND"]
    assert struct.unpack(">IIBBBBB", chunks[b"IHDR"]) == (4, 3, 8, 3, 0, 0, 0)
    rows = np.frombuffer(zlib.decompress(chunks[b"IDAT"]), np.uint8).reshape(3, 5)
    assert np.array_equal(rows, np.concatenate([np.zeros((3, 1), np.uint8), pixels], axis=1))


def _scene(turn_rad: float) -> RoomScene:
    speaker = StandingSpeaker("centre", 0.5, 2.0, turn_rad, 0.4, 0.25, own=True)
    seats = (
        StandingSeat("left chair", 3.0, 1.0, 1.2, ""),
        StandingSeat("right chair", 3.5, 3.0, 6.0, "−6 dB\n1.4 kHz"),
    )
    return RoomScene(5.0, 4.0, (speaker,), seats)


def test_plan_is_a_listeners_view_to_scale() -> None:
    picture = room_plan("Plan", _scene(0.0))
    squares = re.findall(r'<rect x="([\d.]+)" y="([\d.]+)" width="40" height="34"', picture)
    (x1, y1), (x2, y2) = ((float(x) + 20, float(y) + 17) for x, y in squares)
    assert x2 > x1  # y grows to the right
    assert y2 > y1  # x grows downward
    assert (x2 - x1) / (y2 - y1) == pytest.approx(2.0 / 0.5, rel=0.01)  # one scale both ways
    assert picture.index("right") < picture.index("−6 dB") < picture.index("1.4 kHz")


def test_turning_counter_clockwise_seen_from_above_aims_to_the_right_of_the_plan() -> None:
    # x forward, y to the listener's right, z up: counter-clockwise seen from above takes x toward y.
    for turn, side in ((0.3, 1), (-0.3, -1)):
        aim = re.search(
            r'points="([\d.]+),([\d.]+) ([\d.]+),([\d.]+)" class="aim"', room_plan("Plan", _scene(turn))
        )
        assert aim
        from_x, from_y, to_x, to_y = map(float, aim.groups())
        assert np.sign(to_x - from_x) == side
        assert to_y > from_y


def test_boards_are_drawn_to_scale_and_named() -> None:
    boards = (
        StandingBoard("screen", (0.05, 0.05), (1.0, 3.0)),
        StandingBoard("shelf", (0.1, 0.5), (1.5, 2.5)),
        StandingBoard("", (0.1, 0.5), (1.5, 2.5)),
        StandingBoard("table", (2.0, 2.6), (1.6, 2.4)),
    )
    picture = room_plan("Plan", replace(_scene(0.0), boards=boards))
    found = re.findall(
        r'<rect x="([\d.]+)" y="([\d.]+)" class="board" width="([\d.]+)" height="([\d.]+)"', picture
    )
    screen, shelf, _, table = (tuple(map(float, one)) for one in found)
    px_per_m = table[2] / 0.8
    assert table[3] == pytest.approx(0.6 * px_per_m, abs=0.11)
    assert screen[2] == pytest.approx(2.0 * px_per_m, abs=0.11)
    assert screen[3] == 4.0  # upright: thin
    assert table[0] - shelf[0] == pytest.approx(0.1 * px_per_m, abs=0.11)
    assert table[1] - shelf[1] == pytest.approx(1.9 * px_per_m, abs=0.11)
    assert [picture.count(f">{name}<") for name in ("screen", "shelf", "table")] == [1, 1, 1]


def test_reflectors_and_boards_of_a_design_come_to_the_plan() -> None:
    prediction = made_up("Twin", 0.14, 2500.0)
    design, brief = prediction.design, prediction.design.brief
    normals = {"screen": (1.0, 0.0, 0.0), "panel": (0.0, 1.0, 0.0), "table": (0.0, 0.0, 1.0)}
    reflectors = tuple(
        Reflector(name, (2.0, 1.5, 1.0), normal, 1.2, 0.6, (0.1,) * 8, "") for name, normal in normals.items()
    )
    standing = Standing("shelf", depth_m=0.4, width_m=1.4, set_back_m=0.03)
    (centre,) = design.placements
    placed = replace(centre, standing=standing)
    there = replace(
        design, brief=replace(brief, reflectors=reflectors, placements=(placed,)), placements=(placed,)
    )
    boards = {board.name: board for board in room_scene(replace(prediction, design=there)).boards}
    assert list(boards) == ["screen", "panel", "table", "shelf"]
    sizes = {
        name: (board.x_m[1] - board.x_m[0], board.y_m[1] - board.y_m[0]) for name, board in boards.items()
    }
    # The width runs horizontally, of a lying one along y (docs/files.md); a shelf is as wide and deep as told.
    assert sizes["screen"] == pytest.approx((0.0, 1.2))
    assert sizes["panel"] == pytest.approx((1.2, 0.0))
    assert sizes["table"] == pytest.approx((0.6, 1.2))
    assert sizes["shelf"] == pytest.approx((0.4, 1.4))


@given(st.floats(-100, 100), st.floats(0, 50), st.integers(3, 8))
def test_even_ticks_hold_what_is_shown(low: float, wide: float, most: int) -> None:
    ticks = even_ticks(low, low + wide, most)
    values = list(ticks.labels)
    assert ticks.low <= low + 1e-6
    assert ticks.high >= low + wide - 1e-6
    assert np.diff(values) == pytest.approx(values[1] - values[0])
    assert len(values) <= most + 2


def test_bars_are_as_long_as_their_worth() -> None:
    picture = signed_bars("Causes", [("spacing", 8.0), ("size", -2.0), ("edges", 4.0)], 8.0)
    widths = [float(w) for w in re.findall(r'width="([\d.]+)" height="16"', picture)]
    assert widths[0] == pytest.approx(2 * widths[2], rel=0.01)
    assert widths[0] == pytest.approx(4 * widths[1], rel=0.02)
    assert re.findall(r'class="(deepens|fills)"', picture) == ["deepens", "fills", "deepens"]
    assert isinstance(picture, Markup)


def test_third_octave_rows_hold_the_nominal_frequencies() -> None:
    # IEC 61260-1: base-ten midbands 1000 x 10^(n/10); 31 of them from 20 Hz to 20 kHz.
    chosen = GRID.frequency_hz[third_octaves(GRID)]
    exact = 1000 * 10 ** (np.arange(-17, 14) / 10)
    assert chosen.size == exact.size
    assert np.max(np.abs(np.log2(chosen / exact))) <= 0.5 / 24 + 1e-6
