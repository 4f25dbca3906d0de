"""The door from the desk to the room that makes sounds."""

from collections.abc import Sequence
from functools import partial

from forehear.app.desk.listening_sounds import Heard
from forehear.design import Design
from forehear.ground.work import Progress
from forehear.listen import Rendered, find_clip, render, wav_bytes


def make_sounds(designs: Sequence[Design], seat: str, clip: str, progress: Progress) -> list[Heard]:
    """Make the sounds of designs at one seat, all of one length and loudness."""

    def heard(rendered: Rendered) -> Heard:
        level = rendered.level
        facts = {
            "loudness": f"{level.loudness_lufs:.1f} LUFS",
            "matched by": f"{level.matched_by_db:+.1f} dB",
            "true peak": f"{level.true_peak_dbfs:.1f} dBFS",
            **rendered.told,
        }
        return Heard(
            rendered.candidate,
            rendered.seat,
            rendered.rate_hz,
            rendered.sound,
            level.loudness_lufs,
            facts,
            rendered.modelled,
            rendered.left_out,
            partial(wav_bytes, rendered),
        )

    return [heard(rendered) for rendered in render(designs, [seat], find_clip(clip), progress=progress)]
