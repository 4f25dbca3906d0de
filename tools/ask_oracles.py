"""Ask general-purpose libraries what our numbers are held against, and store their answers in tests/cross/data.

Run by `make oracles` in an environment of its own, with `src` and `tests` on the path for the shapes that are asked
about; the everyday tests read what is stored. To ask another
library or another question: write a function that returns rows, and name its file in `QUESTIONS`.
"""

import argparse
import itertools
import tomllib
import warnings
from collections.abc import Callable, Mapping, Sequence
from importlib.metadata import version
from pathlib import Path

import choix
import numpy as np
import pyfar
import pyrato
import pyroomacoustics
from surface_oracles import box_rows, shape_rows, step_rows

FOLDER = Path(__file__).parent.parent / "tests" / "cross" / "data"
SOUND_SPEED_M_S = 343.2  # ours; unless told, the library takes 343
MARGIN_M = 0.3
WALLS = ("west", "east", "south", "north", "floor", "ceiling")  # x = 0, x = length, y = 0, y = width
DECAY_TIMES_S = (0.3, 0.5, 0.8, 1.2, 2.0)
SEEDS = range(8)
RATE_HZ = 48_000

Row = Mapping[str, object]


def clarity() -> list[Row]:
    """Early-to-late ratio and definition of direct sound followed by two exponential decays at once."""
    rows: list[Row] = []
    time = np.arange(4 * RATE_HZ) / RATE_HZ
    for direct, (quick_s, slow_s) in itertools.product((0.0, 0.5, 2.0), ((0.2, 0.9), (0.4, 1.3), (1.0, 2.5))):
        left = 0.7 * 10 ** (-6 * time / quick_s) + 0.3 * 10 ** (-6 * time / slow_s)
        left[0] += direct
        curve = pyfar.TimeData(left, time)
        rows.append(
            {
                "direct_energy": direct,
                "decaying_energy": [0.7, 0.3],
                "decay_time_s": [quick_s, slow_s],
                "c50_db": _number(pyrato.parameters.clarity(curve, 50)),
                "d50": _number(pyrato.parameters.definition(curve, 50)),
            }
        )
    return rows


def speech_transmission() -> list[Row]:
    """Speech transmission index of noise that decays exponentially, seed by seed; without noise or hearing."""
    rows: list[Row] = []
    index = pyrato.parameters.speech_transmission_index_indirect
    for decay_time_s in DECAY_TIMES_S:
        time = np.arange(int(max(1.7, 1.5 * decay_time_s) * RATE_HZ)) / RATE_HZ
        fall = 10 ** (-3 * time / decay_time_s)
        noises = [np.random.default_rng(seed).standard_normal(time.size) for seed in SEEDS]
        heard = [index(pyfar.Signal(noise * fall, RATE_HZ)) for noise in noises]
        rows.append({"decay_time_s": decay_time_s, "index": [_number(value) for value in heard]})
    return rows


def hearing() -> list[Row]:
    """By what masking and threshold shrink the swing in each octave, all octaves alike in level, no noise.

    Only levels alike and below 100 dB are asked: from 100 dB on, and where octaves differ, the library reads
    the standard otherwise than we do (it takes the level of the masked octave for that of the masking one).
    """
    impulse = pyfar.signals.impulse(2 * RATE_HZ, sampling_rate=RATE_HZ)
    swing = pyrato.parameters.modulation_transfer_function
    plain = swing(impulse)
    return [
        {
            "level_db": level,
            "factor": [
                float(value) for value in (swing(impulse, level=np.full(7, level)) / plain).mean(axis=1)
            ],
        }
        for level in (20.0, 40.0, 55.0, 62.0, 64.0, 66.0, 70.0, 85.0, 99.0)
    ]


def images() -> list[Row]:
    """Image sources up to order 3 of six invented rooms; single precision."""
    return [_images_of_a_room(seed) for seed in range(6)]


def _images_of_a_room(seed: int) -> Row:
    random = np.random.default_rng(seed)
    size = random.uniform(2.0, 8.0, 3).round(2)
    source, receiver = ((MARGIN_M + random.uniform(0, 1, 3) * (size - 2 * MARGIN_M)).round(2) for _ in "sr")
    absorption = random.uniform(0.02, 0.8, 6).round(2)
    materials = {
        wall: pyroomacoustics.Material(float(value)) for wall, value in zip(WALLS, absorption, strict=True)
    }
    room = pyroomacoustics.ShoeBox(size, fs=RATE_HZ, materials=materials, max_order=3)
    room.set_sound_speed(SOUND_SPEED_M_S)
    room.add_source(source).add_microphone(receiver)
    room.image_source_model()
    (made,) = room.sources
    distance = np.linalg.norm(made.images - receiver[:, None], axis=0)
    nearest = np.argsort(distance)
    return {
        "size_m": size.tolist(),
        "source_m": source.tolist(),
        "receiver_m": receiver.tolist(),
        "absorption": absorption.tolist(),
        "sound_speed_m_s": SOUND_SPEED_M_S,
        "order": made.orders[nearest].tolist(),
        "distance_m": distance[nearest].tolist(),
        "amplitude_1_m": (made.damping[0] / distance)[nearest].tolist(),
    }


def preferences() -> list[Row]:
    """Strengths that make random choices between a few things likeliest."""
    rows: list[Row] = []
    for seed, count in itertools.product(SEEDS, (2, 3, 5)):
        wins = np.random.default_rng(seed).integers(1, 15, (count, count)) * (1 - np.eye(count, dtype=int))
        pairs = itertools.product(range(count), repeat=2)
        choices = [pair for pair in pairs for _ in range(int(wins[pair]))]
        strength = np.exp(choix.ilsr_pairwise(count, choices))
        rows.append({"wins": wins.tolist(), "strength": (strength / strength.sum()).tolist()})
    return rows


# File in tests/cross/data: the libraries that answer, and the tables they fill.
QUESTIONS: Mapping[str, tuple[Sequence[str], Mapping[str, Callable[[], list[Row]]]]] = {
    "speech.toml": (
        ("pyrato", "pyfar"),
        {"clarity": clarity, "speech_transmission": speech_transmission, "hearing": hearing},
    ),
    "preferences.toml": (("choix",), {"choices": preferences}),
    "images.toml": (("pyroomacoustics",), {"room": images}),
    "surfaces.toml": (("bempp-cl", "ngsolve"), {"box": box_rows, "shape": shape_rows, "step": step_rows}),
}


def as_toml(libraries: Sequence[str], tables: Mapping[str, Sequence[Row]]) -> str:
    """Write tables with the libraries' versions above them."""
    lines = ["# Made by tools/ask_oracles.py (make oracles); not to be edited.", "[versions]"]
    lines += [f'{library} = "{version(library)}"' for library in ("numpy", *libraries)]
    for table, rows in tables.items():
        for row in rows:
            lines += ["", f"[[{table}]]", *(f"{key} = {_value(value)}" for key, value in row.items())]
    text = "\n".join(lines) + "\n"
    tomllib.loads(text)  # never store what cannot be read
    return text


def main() -> None:
    """Ask all of them, or those whose files are named."""
    asked = argparse.ArgumentParser(description=main.__doc__)
    asked.add_argument("--into", type=Path, default=FOLDER, help="folder for the answers")
    asked.add_argument("files", nargs="*", help=f"of {', '.join(QUESTIONS)}; all unless given")
    given = asked.parse_args()
    warnings.simplefilter("ignore")  # the libraries', about signals over noise that we choose on purpose
    given.into.mkdir(parents=True, exist_ok=True)
    for name in given.files or QUESTIONS:
        libraries, questions = QUESTIONS[name]
        tables = {table: ask() for table, ask in questions.items()}
        (given.into / name).write_text(as_toml(libraries, tables), encoding="utf-8")


def _number(answer: np.ndarray) -> float:
    return float(np.asarray(answer).item())


def _value(value: object) -> str:
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    if isinstance(value, str):
        return f'"{value}"'
    return str(value) if isinstance(value, int) else str(float(f"{value:.10g}"))


if __name__ == "__main__":
    main()
