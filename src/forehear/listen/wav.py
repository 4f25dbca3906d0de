"""Rendered sounds as 24-bit WAV files, their settings inside."""

import io
import json
from collections.abc import Mapping
from pathlib import Path

from forehear.listen.rendering import FORMAT, Rendered

LONGEST = 120  # characters of a setting: common readers pass over a comment of more than two thousand


def wav_bytes(rendered: Rendered, *, told: bool = True) -> bytes:
    """Make a WAV file; with nothing told it holds the sound alone, as many bytes as any other of its length."""
    import soundfile  # for this alone

    written = io.BytesIO()
    with soundfile.SoundFile(
        written, "w", samplerate=rendered.rate_hz, channels=2, format="WAV", subtype="PCM_24"
    ) as file:
        if told:
            file.title = f"{rendered.candidate}, {rendered.seat}"
            file.comment = json.dumps({name: value[:LONGEST] for name, value in rendered.told.items()})
        file.write(rendered.sound.T)
    return written.getvalue()


def settings_in(path: Path) -> Mapping[str, object] | None:
    """Read the settings back out of a file that `wav_bytes` made; None of any other file."""
    import soundfile

    try:
        with soundfile.SoundFile(path) as file:
            found = json.loads(file.comment)
    except (soundfile.LibsndfileError, ValueError, OSError):
        return None
    return found if isinstance(found, dict) and found.get("format") == FORMAT else None
