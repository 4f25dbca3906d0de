"""Drivers and components: any sufficient set fixes the rest, and printed numbers that disagree are told."""

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forehear.design.starter import starter_text
from forehear.ground.air import Air
from forehear.ground.errors import Complaints, DataError, DesignError
from forehear.ground.reading.documents import Change, Document
from forehear.ground.reading.nodes import Plain
from forehear.ground.reading.quantities import write_quantity
from forehear.ground.thiele_small import MechanicalConstants, small_signal_from_mechanical
from forehear.parts import CapacitorPart, CoilPart, DriverPart, ResistorPart, check_driver, read_component
from forehear.parts.driver import driver_from
from published.printed import cases

AIR = Air()
CASE = cases("section3.yaml")["S3.driver.ts"]  # one driver both ways
CONSTANTS = MechanicalConstants(6.2, 6.5, 0.0145, 1.05e-3, 0.95, 0.0133)  # its inputs
IN_FILE = {
    "Re": "6.2 ohm",
    "Sd": "133 cm2",
    "fs": "40.788852 Hz",
    "Qms": "3.9117019",
    "Qes": "0.54532364",
    "Qts": "0.47860249",
    "Vas": "26.342058 l",
    "Bl": "6.5 N/A",
    "Mms": "14.5 g",
    "Cms": "1.05 mm/N",
    "Rms": "0.95 kg/s",
}


def cone(*changes: tuple[tuple[str | int, ...], str], folder: Path = Path("folder")) -> DriverPart:
    document = Document.from_text(starter_text("parts/cone-130.yaml"), folder / "cone.yaml")
    return driver_from(document.with_changes([Change(path, text) for path, text in changes]))


def with_set(*names: str) -> DriverPart:
    text = ", ".join(f"{name}: {IN_FILE[name]}" for name in ("Re", "Sd", *names))
    return cone((("thiele-small",), f"{{{text}}}"))


def codes(part: DriverPart) -> list[str]:
    return [finding.code for finding in check_driver(part)]


@pytest.mark.parametrize(
    "names",
    [
        ("fs", "Qms", "Qes", "Vas"),
        ("fs", "Qts", "Qes", "Vas"),
        ("fs", "Qts", "Qms", "Vas"),
        ("Bl", "Mms", "Cms", "Rms"),
        ("fs", "Mms", "Bl", "Qms"),
        ("fs", "Qes", "Bl", "Rms"),
        ("fs", "Cms", "Qms", "Qes"),
        ("fs", "Qms", "Rms", "Bl"),
        ("Qts", "Qms", "Mms", "Vas"),
        tuple(IN_FILE)[2:],
    ],
)
def test_any_sufficient_set_fixes_the_driver(names: tuple[str, ...]) -> None:
    part = with_set(*names)
    for name, value in vars(CONSTANTS).items():
        assert getattr(part.constants, name) == pytest.approx(value, rel=1e-4), name
    found = part.small_signal
    CASE.check(
        fs_Hz=found.fs_hz,
        Qms=found.qms,
        Qes=found.qes,
        Qts=found.qts,
        Vas_L=found.vas_m3 * 1e3,
        eta0=found.efficiency,
        SPL_1W_1m_2pi=found.sensitivity_1w_db,
        SPL_2V83_1m_2pi=found.sensitivity_2v83_db,
    )


@pytest.mark.parametrize(
    ("names", "missing"),
    [((), "fs, Qms, Qes, Vas"), (("fs", "Qts", "Vas"), "Qms, Qes"), (("fs", "Qms", "Qes"), "Vas")],
)
def test_too_few_parameters_are_told_by_name(names: tuple[str, ...], missing: str) -> None:
    with pytest.raises(DesignError) as caught:
        with_set(*names)
    assert caught.value.what == f"the Thiele-Small parameters do not fix {missing}"
    assert caught.value.where == "cone.yaml:5:1  thiele-small"


def test_parameters_that_contradict_each_other_are_refused() -> None:
    with pytest.raises(DesignError, match="contradict"):
        cone((("thiele-small",), "{Re: 6 ohm, Sd: 84 cm2, fs: 48 Hz, Qts: 0.5, Qms: 0.4, Vas: 9 l}"))


@given(
    st.floats(20.0, 200.0),
    st.floats(0.8, 12.0),
    st.floats(0.2, 2.0),
    st.floats(1e-3, 0.2),
    st.floats(20.0, 800.0),
)
def test_a_consistent_sheet_raises_no_finding(
    fs_hz: float, qms: float, qes: float, vas_m3: float, sd_cm2: float
) -> None:
    sheet = (
        f"{{Re: 6 ohm, Sd: {write_quantity(sd_cm2 * 1e-4, 'cm2')}, fs: {write_quantity(fs_hz, 'Hz')}, "
        f"Qms: {qms:.6g}, Qes: {qes:.6g}, Vas: {write_quantity(vas_m3, 'l')}}}"
    )
    part = cone((("thiele-small",), sheet))
    level = part.small_signal.sensitivity_2v83_db
    # eta0 = 4 pi^2 fs^3 Vas / (c^3 Qes), 112.16 dB for 1 W in half space (Small 1972)
    efficiency = 4 * math.pi**2 * fs_hz**3 * vas_m3 / (343.2**3 * qes)
    assert level == pytest.approx(112.16 + 10 * math.log10(efficiency * 8 / 6), abs=0.01)
    made = small_signal_from_mechanical(part.constants, AIR)
    full = cone(
        (("thiele-small",), sheet[:-1] + f", Qts: {made.qts:.3g}, Bl: {part.constants.bl_n_a:.4g} N/A}}"),
        (("sensitivity", "level"), f"{min(max(level, 0.0), 150.0):.1f} dB"),
    )
    assert codes(full) == []


@pytest.mark.parametrize(
    ("path", "text", "code", "numbers"),
    [
        (("thiele-small", "Qts"), "0.45", "part-data-disagrees", ("0.45", "0.381")),
        (("thiele-small", "Cms"), "1.5 mm/N", "part-data-disagrees", ("9.1 l", "15 l")),
        (("thiele-small", "Bl"), "5 N/A", "part-data-disagrees", ("5 N/A", "7.1 N/A")),
        (("sensitivity", "level"), "91 dB", "sensitivity-disagrees",
         ("91.0 dB at 2.83 V", "87.2 dB", "85.9 dB at 1 W")),
        (("sensitivity",), "{level: 90 dB, at: 1 W}", "sensitivity-disagrees",
         ("90.0 dB at 1 W", "87.2 dB at 2.83 V")),
    ],
)  # fmt: skip
def test_numbers_that_disagree_are_told_with_both_and_the_place(
    path: tuple[str, ...], text: str, code: str, numbers: tuple[str, ...]
) -> None:
    assert codes(cone()) == []
    findings = check_driver(cone((path, text)))
    assert [finding.code for finding in findings] == [code]
    assert findings[0].where.startswith("cone.yaml:")
    for number in numbers:
        assert number in findings[0].what


def test_what_is_left_out_is_said() -> None:
    bare = starter_text("parts/cone-130.yaml").replace("voice coil:", "# voice coil:")
    part = driver_from(Document.from_text(bare, Path("folder/cone.yaml")))
    assert part.estimated == (
        "Cone 130: voice-coil inductance taken as zero",
        "Cone 130: no response curve; a rigid piston, estimated above ka = 1",
    )
    assert part.voice_coil.le_h == 0.0


def measured(
    folder: Path, *, first_hz: float = 200.0, last_hz: float = 20_000.0, mounted: str = "large baffle"
) -> str:
    frequency_hz = np.geomspace(first_hz, last_hz, 50)
    (folder / "curve.txt").write_text("\n".join(f"{f:.3f}\t{87.0:.1f}" for f in frequency_hz))
    return f"{{file: curve.txt, mounted: {mounted}, distance: 1 m, voltage: 2.83 V}}"


def test_a_response_says_how_it_was_measured(tmp_path: Path) -> None:
    text = measured(tmp_path, mounted="standard baffle")
    with pytest.raises(DesignError, match="needs its size"):
        cone((("response",), text), folder=tmp_path)
    with_size = (
        text[:-1] + ", baffle: {width: 1.35 m, height: 1.65 m, centre: [150 mm, 225 mm]}, closed: 14 l}"
    )
    response = cone((("response",), with_size), folder=tmp_path).response
    assert response is not None
    assert (response.front_m, response.depth_m, response.centre_m) == ((1.35, 1.65), None, (0.15, 0.225))
    assert (response.closed_m3, response.voltage_v, response.distance_m) == (0.014, 2.83, 1.0)
    with pytest.raises(DesignError, match="own cabinet needs its size"):
        cone((("response",), measured(tmp_path, mounted="own cabinet")), folder=tmp_path)


@pytest.mark.parametrize("band_hz", [(200.0, 3000.0), (1500.0, 20_000.0)])
def test_a_response_that_does_not_reach_is_refused(tmp_path: Path, band_hz: tuple[float, float]) -> None:
    text = measured(tmp_path, first_hz=band_hz[0], last_hz=band_hz[1])
    # Sd of 84 cm2: ka = 1 at c / (2 pi sqrt(Sd/pi)) = 1056 Hz, ka = 2 at 2112 Hz
    if band_hz[1] > 2112 and band_hz[0] < 500:
        assert cone((("response",), text), folder=tmp_path).response is not None
    else:
        with pytest.raises(DataError) as caught:
            cone((("response",), text), folder=tmp_path)
        assert "are needed" in caught.value.what
        assert caught.value.where == "curve.txt"


def test_an_impedance_of_zero_is_refused(tmp_path: Path) -> None:
    (tmp_path / "z.txt").write_text("\n".join(f"{100 * n} {0 if n == 9 else 8}" for n in range(1, 60)))
    with pytest.raises(DataError) as caught:
        cone((("impedance",), "{file: z.txt}"), folder=tmp_path)
    assert caught.value.where == "z.txt:9"


def test_an_impedance_that_gives_power_back_is_refused(tmp_path: Path) -> None:
    (tmp_path / "z.txt").write_text("\n".join(f"{100 * n} 8 {120 if n == 9 else 20}" for n in range(1, 60)))
    with pytest.raises(DataError, match="120 degrees at 900 Hz"):
        cone((("impedance",), "{file: z.txt}"), folder=tmp_path)


@pytest.mark.parametrize("name", ["../../etc/passwd", "/etc/passwd", "missing.txt", "."])
def test_files_stay_in_the_folder_of_the_design(tmp_path: Path, name: str) -> None:
    with pytest.raises(DesignError) as caught:
        cone((("impedance",), f"{{file: '{name}'}}"), folder=tmp_path)
    assert caught.value.where.startswith("cone.yaml:")
    assert caught.value.where.endswith("impedance > file")


@pytest.mark.parametrize(
    ("value", "part"),
    [
        ({"coil": "1.2 mH", "dcr": "0.35 ohm"}, CoilPart(1.2e-3, dcr_ohm=0.35)),
        ({"coil": "1.2 mH", "wire": "1.0 mm", "price": 6.2}, CoilPart(1.2e-3, wire_m=1e-3, price=6.2)),
        ({"capacitor": "15 uF"}, CapacitorPart(15e-6)),
        ({"capacitor": "15 uF", "esr": "20 mohm"}, CapacitorPart(15e-6, esr_ohm=0.02)),
        ({"resistor": "3.9 ohm", "rating": "10 W"}, ResistorPart(3.9, rating_w=10.0)),
    ],
)
def test_components_in_line_and_from_files(tmp_path: Path, value: dict[str, Plain], part: object) -> None:
    document = Document.from_text("x: 1\n", tmp_path / "x.yaml")
    assert read_component(value, document, ("x",)) == part
    (tmp_path / "p.yaml").write_text("".join(f"{key}: {text}\n" for key, text in value.items()))
    assert read_component({"part": "p.yaml"}, document, ("x",)) == part


@pytest.mark.parametrize(
    "value",
    [
        None,
        3,
        "coil",
        [],
        {},
        {"coil": "1 uF"},
        {"coil": "-1 mH"},
        {"coil": "1 mH", "resistor": "1 ohm"},
        {"part": "x"},
    ],
)
def test_what_is_no_component_is_refused(tmp_path: Path, value: Plain) -> None:
    document = Document.from_text("x: 1\n", tmp_path / "x.yaml")
    with pytest.raises((DesignError, Complaints), match=r"where  x\.yaml:1:1  x"):
        read_component(value, document, ("x",))
