"""What takes seconds and is often asked for again, kept on disk: how sure seats are, and what the room does otherwise.

Each is found again by the content of everything it depends on, the program's own code included: a changed design,
brief, solution or formula never gets an old answer.
"""

import contextlib
from collections.abc import Callable, Sequence
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Any, TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from forehear.ground.files import cache_folder
from forehear.ground.store import KeptFiles, content_key
from forehear.ground.work import Progress, unseen
from forehear.spine.doubts import Doubts
from forehear.spine.prediction import RoomChange, RoomStory, SeatRanges, Turning
from forehear.spine.room_story import tell_room
from forehear.spine.situation import Setting, Situation
from forehear.spine.sureness import heard_key, seat_ranges, summed_up

EDITION = 1  # of the files themselves; what is in them goes by the code that found it
MOST_BYTES = 30_000_000  # on disk; a candidate takes some tens of kilobytes
DECIDING = (
    "box",
    "ground",
    "judge",
    "network",
    "radiation",
    "room",
    "spine",
)  # rooms whose code decides a number

Found = TypeVar("Found")
Written: TypeAlias = dict[str, NDArray[Any]]


def kept_ranges(situation: Situation, progress: Progress = unseen) -> tuple[SeatRanges, ...]:
    """Return what `seat_ranges` finds, from disk where it has been found before."""
    return _kept(
        _ranges_key(situation),
        lambda: seat_ranges(situation, doubts=_doubts(situation), progress=progress),
        _ranges_written,
        lambda found: _ranges_read(found, situation),
    )


def kept_story(situation: Situation, progress: Progress = unseen) -> RoomStory:
    """Return what `tell_room` tells, from disk where it has been told before."""
    return _kept(
        _story_key(situation),
        lambda: tell_room(situation, progress),
        _story_written,
        lambda found: _story_read(found, len(situation.seats)),
    )


def is_kept(setting: Setting) -> bool:
    """Tell whether ranges and story of a design lie on disk; nothing of it need be heard for that."""
    return all(_files().get(key) is not None for key in (_ranges_key(setting), _story_key(setting)))


def _ranges_key(setting: Setting) -> str:
    return content_key("ranges", code_key(), heard_key(setting), _doubts(setting))


def _story_key(setting: Setting) -> str:
    return content_key("story", code_key(), heard_key(setting))


def _doubts(setting: Setting) -> Doubts:
    return Doubts.of(setting.design, setting.speaker.drivers)


def _files() -> KeptFiles:
    return KeptFiles(cache_folder() / "told", MOST_BYTES)


def _kept(
    key: str,
    make: Callable[[], Found],
    write: Callable[[Found], Written],
    read: Callable[[Written], Found],
) -> Found:
    """Read what is kept, or make and keep it; a file that does not hold what it should counts as not there."""
    files = _files()
    kept = files.get(key)
    if kept is not None:
        with contextlib.suppress(KeyError, TypeError, ValueError):
            return read(kept)
    made = make()
    files.put(key, write(made), {"edition": EDITION, "by": f"forehear {version('forehear')}"})
    return made


@cache
def code_key(package: Path = Path(__file__).parents[1]) -> str:
    """Key of the code that decides what is found, and of what it calculates with."""
    files = sorted(path for room in DECIDING for path in (package / room).rglob("*.py"))
    told = [(path.relative_to(package).as_posix(), path.read_bytes()) for path in files]
    return content_key(EDITION, [version(name) for name in ("forehear", "numpy", "scipy")], told)


def _ranges_written(ranges: tuple[SeatRanges, ...]) -> Written:
    mattering = [seat.mattering for seat in ranges]
    return {
        "drawn": np.array([seat.drawn for seat in ranges]),  # [seat, number, draw]
        "what": np.array([[one.what for one in own] for own in mattering], dtype=np.str_),  # [seat, doubt]
        "moves_db": np.array([[one.moves_db for one in own] for own in mattering]),  # [seat, doubt]
    }


def _ranges_read(kept: Written, situation: Situation) -> tuple[SeatRanges, ...]:
    each = zip(situation.seats, kept["drawn"], kept["what"].tolist(), kept["moves_db"].tolist(), strict=True)
    return tuple(
        summed_up(seat, drawn, dict(zip(what, moves_db, strict=True))) for seat, drawn, what, moves_db in each
    )


def _story_written(story: RoomStory) -> Written:
    turning = story.turning
    return {
        "turn_deg": turning.turn_deg,
        "turned": np.array([turning.spread_db, turning.direct_spread_db, turning.c50_db]),
        "head_moved_db": story.head_moved_db,
        **_changes_written("treated", story.treated),
        **_changes_written("moved", story.moved),
    }


def _story_read(kept: Written, seats: int) -> RoomStory:
    turn_deg, head_moved_db = kept["turn_deg"], kept["head_moved_db"]
    turned = kept["turned"].reshape(3, seats, turn_deg.size)
    return RoomStory(
        Turning(turn_deg, *turned),
        treated=_changes_read("treated", kept, seats),
        moved=_changes_read("moved", kept, seats),
        head_moved_db=head_moved_db.reshape(seats),
    )


def _changes_written(kind: str, changes: Sequence[RoomChange]) -> Written:
    return {
        f"{kind}_doing": np.array([change.doing for change in changes], dtype=np.str_),
        f"{kind}_spread_db": np.array([change.spread_db for change in changes]),  # [change, seat]
        f"{kind}_gained_db": np.array([change.gained_db for change in changes]),
    }


def _changes_read(kind: str, kept: Written, seats: int) -> tuple[RoomChange, ...]:
    doing, gained_db = kept[f"{kind}_doing"].tolist(), kept[f"{kind}_gained_db"].tolist()
    spread_db = kept[f"{kind}_spread_db"].reshape(len(doing), seats).tolist()
    each = zip(doing, spread_db, gained_db, strict=True)
    return tuple(RoomChange(one, tuple(spreads), gained) for one, spreads, gained in each)
