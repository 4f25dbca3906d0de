"""Make the bundled speech again: espeak-ng reads a text of our own, in two voices; needs that program.

Run as ``python tools/make_speech.py``. What comes out is stored as FLAC beside the words that say where it is from.
"""

import subprocess
import tempfile
from pathlib import Path

import numpy as np
import soundfile

FOLDER = Path(__file__).resolve().parent.parent / "src" / "forehear" / "listen" / "clips"
LINES = (
    ("en-gb", "Seven people sat on the green sofa, and one asked: can you hear every word?"),
    ("en-gb+f3", "Yes, said the girl by the window, but the storm was softer over here."),
)
WORDS_A_MINUTE = 175
PAUSE_S = 0.35
PEAK = 0.125  # levels are matched anyway, and a soft file is smaller


def main() -> None:
    """Speak, join, and store the clip with its origin."""
    parts, rate_hz = [], 0
    with tempfile.TemporaryDirectory() as folder:
        for voice, words in LINES:
            path = Path(folder) / "line.wav"
            subprocess.run(
                ["espeak-ng", "-v", voice, "-s", str(WORDS_A_MINUTE), "-w", str(path), words], check=True
            )
            sound, rate_hz = soundfile.read(path)
            parts += [sound, np.zeros(round(PAUSE_S * rate_hz))]
    speech = np.concatenate(parts[:-1])
    version = subprocess.run(["espeak-ng", "--version"], capture_output=True, text=True, check=True).stdout
    soundfile.write(FOLDER / "speech.flac", PEAK * speech / np.abs(speech).max(), rate_hz, subtype="PCM_16")
    told = version.split("text-to-speech:")[-1].split()[0]
    text = " ".join(words for _, words in LINES)
    (FOLDER / "origins.toml").write_text(
        "# Where the bundled clips that are files come from; made by tools/make_speech.py.\n"
        f'[speech]\nfile = "speech.flac"\n'
        f'origin = "speech synthesised by espeak-ng {told}, two voices, from a text of our own"\n'
        f'text = "{text}"\n',
        encoding="utf-8",
    )


if __name__ == "__main__":
    main()
