"""Candidates heard beforehand: a clip as two ears would receive it at each seat, levels matched."""

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
    render,
    stages_of,
)
from forehear.listen.sofa import read_head
from forehear.listen.stage import Stage
from forehear.listen.wav import settings_in, wav_bytes

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
    "read_clip",
    "read_head",
    "render",
    "settings_in",
    "stages_of",
    "true_peak",
    "wav_bytes",
]
