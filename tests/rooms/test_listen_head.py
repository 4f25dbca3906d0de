"""Heads: what lies between directions and in a diffuse field, and measured ones out of SOFA files good and bad."""

from collections.abc import Callable
from pathlib import Path

import h5py
import numpy as np
import pytest
from numpy.typing import NDArray

from forehear.ground.axes import Directions, FrequencyGrid
from forehear.ground.errors import DataError
from forehear.listen import NoHead, SphereHead, diffuse_field, read_head
from forehear.listen.measured import MeasuredHead

Floats = NDArray[np.float64]
BALL = SphereHead()
RATE_HZ = 44_100.0
SAMPLES = 256
RANDOM = np.random.default_rng(3)
UNIT = RANDOM.standard_normal((150, 3))
UNIT /= np.linalg.norm(UNIT, axis=1, keepdims=True)
FAR = np.full(len(UNIT), np.inf)


def directions() -> tuple[Floats, Floats]:
    """Azimuth and elevation of rings 10 degrees apart and both poles. [deg]"""
    rings = [
        (azimuth, elevation)
        for elevation in range(-80, 90, 10)
        for azimuth in np.arange(0.0, 360.0, 10.0 if abs(elevation) < 60 else 20.0)
    ]
    azimuth, elevation = np.array([*rings, (0.0, -90.0), (0.0, 90.0)]).T
    return azimuth, elevation


def of_a_ball() -> NDArray[np.float64]:
    """Impulse responses of the ball, [direction, ear, sample], 40 samples late, as somebody might measure them."""
    azimuth, elevation = np.radians(directions())
    unit = Directions.from_angles(azimuth, elevation).unit
    hz, far = np.fft.rfftfreq(SAMPLES, 1 / RATE_HZ), np.full(len(unit), np.inf)
    late = np.exp(-2j * np.pi * (BALL.delays_s(unit, far)[..., np.newaxis] + 40 / RATE_HZ) * hz)
    pressure = BALL.transfer(unit, far, hz) * late * np.clip((21_000 - hz) / 3_000, 0.0, 1.0)
    return np.fft.irfft(pressure, n=SAMPLES, axis=-1).transpose(1, 0, 2)


Spoil = Callable[[h5py.File], None]


def sofa(path: Path, spoil: Spoil = lambda _: None) -> Path:
    """Write the ball as a SOFA file."""
    azimuth, elevation = directions()
    with h5py.File(path, "w") as file:
        file.attrs.update(
            {"Conventions": "SOFA", "SOFAConventions": "SimpleFreeFieldHRIR", "Title": "a ball"}
        )
        file["Data.IR"] = of_a_ball()
        file["Data.SamplingRate"] = np.array([RATE_HZ])
        file["Data.Delay"] = np.zeros((1, 2))
        file["SourcePosition"] = np.stack([azimuth, elevation, np.full(azimuth.size, 1.5)], axis=1)
        file["SourcePosition"].attrs["Type"] = "spherical"
        file["ReceiverPosition"] = np.array([[[0.0], [0.09], [0.0]], [[0.0], [-0.09], [0.0]]])
        file["ReceiverPosition"].attrs["Type"] = "cartesian"
        file["ListenerView"] = np.array([[1.0, 0.0, 0.0]])
        file["ListenerView"].attrs["Type"] = "cartesian"
        spoil(file)
    return path


@pytest.fixture(scope="module")
def measured(tmp_path_factory: pytest.TempPathFactory) -> MeasuredHead:
    return read_head(sofa(tmp_path_factory.mktemp("head") / "ball.sofa"))


def test_a_ball_that_was_measured_is_that_ball(measured: MeasuredHead) -> None:
    """Read back between its directions, in bands: level within 0.5 dB rms, times of arrival within 10 us."""
    grid = FrequencyGrid(np.geomspace(250.0, 10_000.0, 60))
    found, wanted = (head.in_bands(grid)(UNIT, FAR) for head in (measured, BALL))
    lit = BALL.angles_rad(UNIT) < np.radians(120)
    apart = 20 * np.log10(np.abs(found / wanted))
    assert np.sqrt(np.mean(apart[lit] ** 2)) < 0.5
    assert np.sqrt(np.mean(apart**2)) < 1.5  # behind, waves that went around both sides meet
    hz = grid.frequency_hz[:20]
    turned = [
        head.in_bands(grid)(UNIT, FAR)[..., :20]
        * np.exp(-2j * np.pi * head.delays_s(UNIT, FAR)[..., None] * hz)
        for head in (measured, BALL)
    ]
    between = np.angle(turned[0][0] / turned[0][1] * turned[1][1] / turned[1][0]) / (2 * np.pi * hz)
    assert np.sqrt(np.mean(between**2)) < 10e-6


def test_what_is_far_below_a_measured_response_is_the_ball(measured: MeasuredHead) -> None:
    low = np.array([40.0, 80.0])
    assert measured.transfer(UNIT, FAR, low) == pytest.approx(BALL.transfer(UNIT, FAR, low), abs=0.02)


def test_ears_are_told_apart_by_where_they_are(tmp_path: Path, measured: MeasuredHead) -> None:
    def swap(file: h5py.File) -> None:
        file["Data.IR"][...] = file["Data.IR"][:][:, ::-1]
        file["ReceiverPosition"][...] = file["ReceiverPosition"][:][::-1]

    swapped = read_head(sofa(tmp_path / "swapped.sofa", swap))
    assert np.array_equal(swapped.response, measured.response)
    left = np.array([[0.0, 1.0, 0.0]])
    near, far = swapped.delays_s(left, FAR[:1])[:, 0]
    assert near < 0 < far


def test_delays_stated_apart_are_put_back(tmp_path: Path, measured: MeasuredHead) -> None:
    def part(file: h5py.File) -> None:
        file["Data.IR"][:, 1] = np.roll(file["Data.IR"][:, 1], -20, axis=-1)
        file["Data.Delay"][...] = [[0.0, 20.0]]

    parted = read_head(sofa(tmp_path / "parted.sofa", part))
    assert parted.delays_s(UNIT, FAR) == pytest.approx(
        measured.delays_s(UNIT, FAR), abs=6e-6
    )  # a quarter of a sample


def without(name: str) -> Spoil:
    def spoil(file: h5py.File) -> None:
        del file[name]

    return spoil


def instead(name: str, value: object) -> Spoil:
    def spoil(file: h5py.File) -> None:
        del file[name]
        file[name] = value
        file[name].attrs["Type"] = "spherical" if name == "SourcePosition" else "cartesian"

    return spoil


def named(name: str, value: str) -> Spoil:
    return lambda file: file.attrs.update({name: value})


COUNT = len(directions()[0])
LEVEL = np.stack([np.linspace(0, 360, COUNT), np.zeros(COUNT), np.ones(COUNT)], axis=1)


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (named("Conventions", "netCDF"), "HDF5 but not SOFA"),
        (named("SOFAConventions", "SingleRoomDRIR"), "a SOFA file of SingleRoomDRIR, not head data"),
        (without("Data.IR"), "damaged"),
        (without("SourcePosition"), "damaged"),
        (instead("Data.IR", np.ones((COUNT, 1, 9))), "not of two ears"),
        (instead("Data.IR", np.zeros((COUNT, 2, 9))), "silent or no numbers"),
        (instead("Data.IR", np.full((COUNT, 2, 9), np.nan)), "silent or no numbers"),
        (instead("Data.IR", np.ones((COUNT, 2, 9000))), "last 0.20 s"),
        (instead("Data.SamplingRate", np.array([16_000.0])), "sampled at 16000 Hz"),
        (instead("SourcePosition", np.ones((3, 3))), "places of shape (3, 3)"),
        (instead("SourcePosition", np.full((COUNT, 3), np.nan)), "no directions"),
        (instead("SourcePosition", LEVEL), "do not surround the head"),
        (instead("ListenerView", np.array([[0.0, 1.0, 0.0]])), "does not look along its x axis"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_sofa_file_that_is_no_head_is_refused_in_words(tmp_path: Path, spoil: Spoil, said: str) -> None:
    with pytest.raises(DataError) as refused:
        read_head(sofa(tmp_path / "bad.sofa", spoil))
    assert said in refused.value.what
    assert "bad.sofa" in refused.value.where
    assert refused.value.cure


def test_a_file_that_is_no_hdf5_is_refused_in_words(tmp_path: Path) -> None:
    text = tmp_path / "text.sofa"
    text.write_text("a head")
    for path, said in ((text, "not HDF5"), (tmp_path / "none.sofa", "no such file"), (tmp_path, "HDF5")):
        with pytest.raises(DataError, match=said):
            read_head(path)


def test_the_ears_hear_a_diffuse_field_as_two_points_do_where_the_head_is_small() -> None:
    """Cook 1955: sin(k d) / (k d) for free points d apart; a ball spreads them to about half as far again."""
    hz = np.array([20.0, 60.0, 120.0])
    field = diffuse_field(BALL, hz)
    apart_m = (
        1.5 * 2 * BALL.radius_m * np.sin(BALL.ear_rad)
    )  # Kuhn: three halves of the way through, low frequencies
    assert field.coherence.real == pytest.approx(np.sinc(2 * hz * apart_m / BALL.sound_speed_m_s), abs=0.01)
    assert np.abs(field.coherence.imag).max() < 1e-9  # both sides alike
    assert field.energy == pytest.approx(1.0, abs=0.05)


@pytest.mark.parametrize("head", [BALL, NoHead()], ids=lambda head: head.title)
def test_two_noises_mixed_are_the_diffuse_field_of_the_head(head: SphereHead | NoHead) -> None:
    hz = np.linspace(100.0, 15_000.0, 40)
    mixing, field = head.mixing(hz), diffuse_field(head, hz)
    made = np.einsum("enf,gnf->egf", mixing, mixing.conj())
    assert made[[0, 1], [0, 1]].real == pytest.approx(field.energy, rel=0.02)
    assert made[0, 1] == pytest.approx(field.shared, abs=0.02)


def test_the_model_is_like_a_head_that_was_measured(measured_by_others: Path) -> None:
    """Softly: a set measured on a dummy head at 1.4 m, from the left, where neither outer ear nor torso spoil much."""
    head = read_head(measured_by_others)
    left, at_m = np.array([[0.0, 1.0, 0.0]]), np.array([1.4])
    hz = np.array([250.0, 500.0, 750.0, 1000.0, 1500.0, 2000.0])
    found, ball = (each.transfer(left, at_m, hz)[:, 0] for each in (head, BALL))
    assert 20 * np.log10(np.abs(found[0] / found[1])) == pytest.approx(
        20 * np.log10(np.abs(ball[0] / ball[1])), abs=2.0
    )
    sides = np.array([[np.cos(angle), np.sin(angle), 0.0] for angle in np.radians([30.0, 60.0, -45.0])])
    low = np.array([400.0])
    late = []
    for each in (head, BALL):
        turn = np.exp(-2j * np.pi * each.delays_s(sides, np.full(3, 1.4))[..., np.newaxis] * low)
        heard = each.transfer(sides, np.full(3, 1.4), low) * turn
        late.append(np.angle(heard[0] / heard[1])[:, 0] / (2 * np.pi * low))
    assert late[0] == pytest.approx(late[1], abs=120e-6)
