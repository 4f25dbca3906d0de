"""What is played: bundled clips, and sound files that a user brings."""

import io
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
import scipy.signal
from numpy.typing import NDArray

from forehear.ground.arrays import locked
from forehear.ground.errors import DataError
from forehear.listen.loudness import BLOCK_S, RATE_HZ, loudness_lufs
from forehear.listen.synthesis import percussion, pink_noise, tones

FOLDER = Path(__file__).parent / "clips"
LONGEST_S = 60.0
RATES_HZ = (8_000, 192_000)
CLIPPED_RUN = 4  # samples one after the other at the highest value: sound does not stand still there
FULL = 0.99
CURE = "choose a WAV or FLAC file with sound of one or two channels, up to a minute long"
OWN_MAKING: dict[str, tuple[str, Callable[[], NDArray[np.float32]]]] = {
    "pink noise": ("noise of equal energy in every octave, worked out by forehear", pink_noise),
    "tones": ("plucked tones, worked out by forehear", tones),
    "percussion": ("skins, blocks and brushes, worked out by forehear", percussion),
}


@dataclass(frozen=True, eq=False)
class Clip:
    """Sound to be played through candidates."""

    name: str
    sound: NDArray[np.float32]  # [channel, sample] at 48 kHz, full scale 1
    origin: str
    notes: tuple[str, ...] = ()  # what is odd about it

    def __post_init__(self) -> None:
        locked(self, "sound", (-1, -1), "channels x samples")

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        return float(self.sound.shape[1] / RATE_HZ)


def clips() -> tuple[str, ...]:
    """Names of the bundled clips."""
    return (*_origins(), *OWN_MAKING)


def bundled_clip(name: str) -> Clip:
    """Return a bundled clip.

    Raises
    ------
    DataError
        When there is no such clip.
    """
    if name in OWN_MAKING:
        origin, made = OWN_MAKING[name]
        return Clip(name, made()[np.newaxis], origin)
    told = _origins().get(name)
    if told is None:
        raise DataError(f"there is no clip called {name!r}", cure=f"choose one of {', '.join(clips())}")
    return decode_clip((FOLDER / told["file"]).read_bytes(), name, origin=told["origin"])


def find_clip(name_or_path: str) -> Clip:
    """Return a bundled clip of that name, else the sound file there.

    Raises
    ------
    DataError
        When it is neither, or cannot be used.
    """
    if name_or_path in clips():
        return bundled_clip(name_or_path)
    if not Path(name_or_path).exists():
        raise DataError(
            f"{name_or_path} is neither a file nor a bundled clip",
            where=name_or_path,
            cure=f"name a WAV or FLAC file, or one of {', '.join(clips())}",
        )
    return read_clip(Path(name_or_path))


def read_clip(path: Path) -> Clip:
    """Read a sound file.

    Raises
    ------
    DataError
        When it cannot be read, or holds nothing that can be listened to.
    """
    try:
        data = path.read_bytes()
    except OSError as error:
        raise DataError(f"cannot read {path}: {error.strerror}", where=str(path), cure=CURE) from error
    return decode_clip(data, path.name)


def decode_clip(data: bytes, name: str, *, origin: str = "") -> Clip:
    """Decode the bytes of a sound file, and bring it to 48 kHz.

    Raises
    ------
    DataError
        When it is no sound, of too many channels, too short, too long, silent, or no numbers.
    """
    import soundfile  # for this alone

    try:
        with soundfile.SoundFile(io.BytesIO(data)) as file:
            _check_shape(name, file.samplerate, file.channels, file.frames / file.samplerate)
            sound = file.read(dtype="float32", always_2d=True).T
            rate_hz = int(file.samplerate)
    except (soundfile.LibsndfileError, TypeError) as error:
        raise _refused(name, f"{name} is no sound that can be read") from error
    if not np.all(np.isfinite(sound)):
        raise _refused(name, f"{name} holds values that are no numbers")
    notes = tuple(_notes(name, sound))
    played = _at_our_rate(sound, rate_hz)
    if not np.isfinite(loudness_lufs(played)):
        raise _refused(name, f"{name} is silent: nothing in it is louder than -70 LUFS")
    return Clip(name, played, origin or f"{name}, brought by the user", notes)


def _check_shape(name: str, rate_hz: int, channels: int, seconds: float) -> None:
    if channels > 2:
        raise _refused(name, f"{name} has {channels} channels, and only one or two can be played")
    if not RATES_HZ[0] <= rate_hz <= RATES_HZ[1]:
        raise _refused(
            name, f"{name} has {rate_hz} samples a second, and {RATES_HZ[0]} to {RATES_HZ[1]} can be used"
        )
    if seconds < BLOCK_S:
        raise _refused(
            name, f"{name} lasts {seconds:.2f} s, and at least {BLOCK_S} s are needed to tell how loud it is"
        )
    if seconds > LONGEST_S:
        raise _refused(name, f"{name} lasts {seconds:.0f} s, and up to {LONGEST_S:.0f} s can be played")


def _notes(name: str, sound: NDArray[np.float32]) -> list[str]:
    """Say what is odd about a sound."""
    top = float(np.abs(sound).max(initial=0.0))
    if top < FULL:
        return []
    flat = np.abs(sound) >= top * (1 - 1e-4)
    runs = np.ones((len(sound), sound.shape[1] - CLIPPED_RUN + 1), dtype=bool)
    for shift in range(CLIPPED_RUN):
        runs &= flat[:, shift : shift + runs.shape[1]]
    places = int((runs & ~np.pad(runs, ((0, 0), (1, 0)))[:, :-1]).sum())
    if not places:
        return []
    return [f"{name} is clipped in {places} places: what distorts there is in the clip, not in a candidate"]


def _at_our_rate(sound: NDArray[np.float32], rate_hz: int) -> NDArray[np.float32]:
    ratio = Fraction(RATE_HZ, rate_hz).limit_denominator(1000)
    if ratio == 1:
        return sound
    changed: NDArray[np.float32] = scipy.signal.resample_poly(
        sound, ratio.numerator, ratio.denominator, axis=1
    ).astype(np.float32)
    return changed


def _origins() -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = tomllib.loads((FOLDER / "origins.toml").read_text(encoding="utf-8"))
    return found


def _refused(name: str, what: str) -> DataError:
    return DataError(what, where=name, cure=CURE)
