"""Head data out of SOFA files (AES69), which are HDF5 inside."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from forehear.ground.arrays import FloatArray
from forehear.ground.errors import DataError
from forehear.listen.measured import MeasuredHead

KIND = "SimpleFreeFieldHRIR"
LEAST_RATE_HZ = 40_000.0
LEAST_DIRECTIONS = 12
WIDEST_GAP = (
    0.35  # nearest plane of the hull of all directions to the middle: about 70 degrees from edge to edge
)
LONGEST_S = 0.1  # longer ones were not measured without a room
CURE = f"choose head data of the kind {KIND}"


def read_head(path: Path) -> MeasuredHead:
    """Read a measured head from a SOFA file.

    Raises
    ------
    DataError
        When it is no SOFA file, not head data, or too little of it.
    """
    import h5py  # for those alone who bring a head

    try:
        with h5py.File(path) as file:
            told = {name: _text(value) for name, value in file.attrs.items()}
            _check_kind(told, path)
            held = {name: np.asarray(file[name], dtype=float) for name in _wanted(file)}
            spoken = {name: _text(file[name].attrs.get("Type", "")) for name in held}
    except OSError as error:
        reason = "there is no such file" if not path.exists() else "it is not HDF5, as SOFA files are"
        raise _refused(path, f"no head can be read from {path.name}: {reason}") from error
    except (KeyError, TypeError, ValueError) as error:
        raise _refused(path, f"{path.name} is damaged: {error}") from error
    title = next((told[name] for name in ("Title", "ListenerShortName") if told.get(name)), path.stem)
    return _head(path, title, held, spoken)


def _wanted(file: Mapping[str, Any]) -> list[str]:
    """Names of what is read; those that a file may leave out only where they are there."""
    optional = ("Data.Delay", "ReceiverPosition", "ListenerView")
    return ["Data.IR", "Data.SamplingRate", "SourcePosition", *(name for name in optional if name in file)]


def _check_kind(told: Mapping[str, str], path: Path) -> None:
    if told.get("Conventions") != "SOFA":
        raise _refused(
            path, f"{path.name} is HDF5 but not SOFA: its Conventions are {told.get('Conventions')!r}"
        )
    kind = told.get("SOFAConventions")
    if kind != KIND:
        raise _refused(path, f"{path.name} is a SOFA file of {kind}, not head data ({KIND})")


def _head(path: Path, title: str, held: Mapping[str, FloatArray], spoken: Mapping[str, str]) -> MeasuredHead:
    response, rates = held["Data.IR"], held["Data.SamplingRate"].ravel()
    if response.ndim != 3 or response.shape[1] != 2:
        raise _refused(path, f"{path.name} holds responses of shape {response.shape}, not of two ears")
    if not np.all(np.isfinite(response)) or not np.all(np.any(response, axis=2)):
        raise _refused(path, f"{path.name} holds responses that are silent or no numbers")
    rate_hz = float(rates[0])
    if not np.all(rates == rate_hz) or rate_hz < LEAST_RATE_HZ:
        raise _refused(
            path, f"{path.name} was sampled at {rate_hz:g} Hz, and at least {LEAST_RATE_HZ:g} Hz are needed"
        )
    if response.shape[2] > LONGEST_S * rate_hz:
        raise _refused(
            path,
            f"responses in {path.name} last {response.shape[2] / rate_hz:.2f} s: those of a head alone end sooner",
        )
    unit = _unit(path, held["SourcePosition"], spoken["SourcePosition"], len(response))
    _check_view(path, held, spoken)
    ears = _left_first(held.get("ReceiverPosition"), spoken.get("ReceiverPosition", ""))
    shifted = _delayed(response, held.get("Data.Delay"))
    return MeasuredHead(title, unit, shifted[:, ears].transpose(1, 0, 2), rate_hz)


def _unit(path: Path, position: FloatArray, kind: str, count: int) -> FloatArray:
    """Directions that sound came from, [direction, 3], when they surround the head."""
    if position.shape != (count, 3):
        raise _refused(path, f"{path.name} has {count} responses but places of shape {position.shape}")
    unit = position if kind == "cartesian" else _from_angles(position)
    length = np.linalg.norm(unit, axis=1, keepdims=True)
    if not np.all(np.isfinite(unit)) or not np.all(length > 0):
        raise _refused(path, f"{path.name} has places that are no directions")
    unit = np.asarray(unit / length)
    nearest = _nearest_plane(unit)
    if nearest < WIDEST_GAP:
        raise _refused(
            path,
            f"the {count} directions in {path.name} do not surround the head: a gap is wider than "
            f"{2 * np.degrees(np.arccos(WIDEST_GAP)):.0f} degrees",
        )
    return unit


def _nearest_plane(unit: FloatArray) -> float:
    """Distance of the middle from the hull of directions; 0 where they do not surround it."""
    from scipy.spatial import ConvexHull, QhullError

    if len(unit) < LEAST_DIRECTIONS:
        return 0.0
    try:
        return float(-ConvexHull(unit).equations[:, 3].max())
    except QhullError:  # all in one plane
        return 0.0


def _from_angles(position: FloatArray) -> FloatArray:
    azimuth, elevation = np.radians(position[:, 0]), np.radians(position[:, 1])
    level = np.cos(elevation)
    unit: FloatArray = np.stack([level * np.cos(azimuth), level * np.sin(azimuth), np.sin(elevation)], axis=1)
    return unit


def _check_view(path: Path, held: Mapping[str, FloatArray], spoken: Mapping[str, str]) -> None:
    """Refuse a head that did not look along its x axis: its directions would mean something else."""
    view = held.get("ListenerView")
    if view is None:
        return
    rows = np.atleast_2d(view)
    rows = rows if spoken["ListenerView"] != "spherical" else _from_angles(rows)
    if not np.allclose(rows / np.linalg.norm(rows, axis=1, keepdims=True), [1.0, 0.0, 0.0], atol=1e-3):
        raise _refused(
            path, f"the head in {path.name} does not look along its x axis but along {rows[0].round(2)}"
        )


def _left_first(place: FloatArray | None, kind: str) -> list[int]:
    """Order of the ears; the left one lies at positive y."""
    if place is None or place.size != 6:
        return [0, 1]
    rows = place.reshape(2, 3)
    rows = _from_angles(rows) if kind == "spherical" else rows
    return [0, 1] if rows[0, 1] >= rows[1, 1] else [1, 0]


def _delayed(response: FloatArray, delay: FloatArray | None) -> FloatArray:
    """Shift responses [direction, ear, sample] by delays that a file states apart, in samples."""
    if delay is None or not np.any(delay):
        return response
    samples = np.broadcast_to(delay.reshape(-1, 2), response.shape[:2]) - delay.min()
    longest = int(np.ceil(samples.max()))
    padded = np.pad(response, ((0, 0), (0, 0), (0, longest + 8)))
    turn = np.exp(-2j * np.pi * samples[..., np.newaxis] * np.fft.rfftfreq(padded.shape[-1]))
    shifted: FloatArray = np.fft.irfft(np.fft.rfft(padded, axis=-1) * turn, n=padded.shape[-1], axis=-1)
    return shifted


def _text(value: object) -> str:
    """Read an attribute of HDF5 as text."""
    if isinstance(value, bytes):
        return value.decode("utf-8", "replace").strip()
    return value.strip() if isinstance(value, str) else ""


def _refused(path: Path, what: str) -> DataError:
    return DataError(what, where=str(path), cure=CURE)
