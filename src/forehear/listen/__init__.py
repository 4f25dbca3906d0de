"""Candidates heard beforehand: a clip as two ears would receive it at each seat, levels matched."""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from forehear.listen.clip import Clip, bundled_clip, clips, decode_clip, find_clip, read_clip
    from forehear.listen.head import DiffuseField, Head, NoHead, SphereHead, diffuse_field
    from forehear.listen.loudness import RATE_HZ, loudness_lufs, true_peak
    from forehear.listen.rendering import (
        CAUTION,
        LEFT_OUT,
        Level,
        Matching,
        Rendered,
        Settings,
        make_ready,
        render,
        stages_of,
    )
    from forehear.listen.sofa import read_head
    from forehear.listen.stage import Stage
    from forehear.listen.wav import settings_in, wav_bytes

_WHEN_ASKED = {  # what reads, filters and renders sound costs a second to load; sessions and results need none of it
    **dict.fromkeys(("Clip", "bundled_clip", "clips", "decode_clip", "find_clip", "read_clip"), "clip"),
    **dict.fromkeys(("DiffuseField", "Head", "NoHead", "SphereHead", "diffuse_field"), "head"),
    **dict.fromkeys(("RATE_HZ", "loudness_lufs", "true_peak"), "loudness"),
    **dict.fromkeys(
        (
            "CAUTION",
            "LEFT_OUT",
            "Level",
            "Matching",
            "Rendered",
            "Settings",
            "make_ready",
            "render",
            "stages_of",
        ),
        "rendering",
    ),
    "read_head": "sofa",
    "Stage": "stage",
    **dict.fromkeys(("settings_in", "wav_bytes"), "wav"),
}

__all__ = [
    "CAUTION",
    "LEFT_OUT",
    "RATE_HZ",
    "Clip",
    "DiffuseField",
    "Head",
    "Level",
    "Matching",
    "NoHead",
    "Rendered",
    "Settings",
    "SphereHead",
    "Stage",
    "bundled_clip",
    "clips",
    "decode_clip",
    "diffuse_field",
    "find_clip",
    "loudness_lufs",
    "make_ready",
    "read_clip",
    "read_head",
    "render",
    "settings_in",
    "stages_of",
    "true_peak",
    "wav_bytes",
]


def __getattr__(name: str) -> object:
    """Load the part of the room that is first asked for."""
    if name not in _WHEN_ASKED:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHEN_ASKED[name]}"), name)
