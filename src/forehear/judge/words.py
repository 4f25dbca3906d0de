"""Findings in plain words, made from plain numbers. Whole decibels, two digits of a frequency."""

from collections.abc import Mapping, Sequence

NUMBERS = "no one two three four five six seven eight nine ten eleven twelve"


def db_words(level_db: float) -> str:
    """Write a level difference without its sign, in whole decibels."""
    return f"{_whole(level_db)} dB"


def frequency_words(frequency_hz: float) -> str:
    """Write a frequency with two digits: 63 Hz, 850 Hz, 1.4 kHz, 12 kHz."""
    rounded = float(f"{frequency_hz:.2g}")
    return f"{rounded / 1000:g} kHz" if rounded >= 1000 else f"{rounded:g} Hz"


def range_words(lower_hz: float, upper_hz: float) -> str:
    """Write a range of frequencies."""
    return f"{frequency_words(lower_hz)} to {frequency_words(upper_hz)}"


def angle_words(angle_deg: float) -> str:
    """Write the size of an angle in whole degrees."""
    whole = _whole(angle_deg)
    return "1 degree" if whole == 1 else f"{whole} degrees"


def side_words(azimuth_deg: float) -> str:
    """Write an azimuth as the listener sees it; positive lies toward the listener's right."""
    if _whole(azimuth_deg) == 0:
        return "straight ahead"
    return f"{angle_words(azimuth_deg)} to the {'right' if azimuth_deg > 0 else 'left'}"


def counted(number: int, thing: str) -> str:
    """Write a small number and its things: one seat, four seats."""
    spelled = NUMBERS.split()
    word = spelled[number] if 0 <= number < len(spelled) else str(number)
    return f"{word} {thing}" if number == 1 else f"{word} {thing}s"


def listed(things: Sequence[str]) -> str:
    """Join things as one says them: a, b and c."""
    if len(things) < 2:
        return "".join(things)
    return f"{', '.join(things[:-1])} and {things[-1]}"


def hole_sentence(seat: str, depth_db: float, frequency_hz: float) -> str:
    """Say that a seat keeps a hole in the room."""
    return f"{_the(seat)} keeps a hole {db_words(depth_db)} deep at {frequency_words(frequency_hz)}."


def direct_hole_sentence(seat: str, depth_db: float, frequency_hz: float) -> str:
    """Say that the direct sound toward a seat has a hole."""
    deep = f"{db_words(depth_db)} deep at {frequency_words(frequency_hz)}"
    return f"The direct sound toward {_the(seat, first=False)} has a hole {deep}."


def room_fills_sentence(filled_db: float, of_db: float) -> str:
    """Say how much of a direct hole the room fills; a negative number means that it digs deeper."""
    if _whole(filled_db) == 0:
        return f"the room fills nothing of the {db_words(of_db)} of the direct sound"
    if filled_db < 0:
        return f"the room adds {db_words(filled_db)} to the {db_words(of_db)} of the direct sound"
    if _whole(filled_db) >= _whole(of_db):
        return f"the room fills all {db_words(of_db)} of the direct sound"
    return f"the room fills {_whole(filled_db)} of the {db_words(of_db)} of the direct sound"


def fills_sentence(fill_db: Mapping[str, float]) -> str:
    """Say which reflections fill a hole by how much would be lost without each; under half a decibel is left out."""
    ordered = sorted(fill_db.items(), key=lambda item: -item[1])
    filling = [f"the {surface} ({db_words(level)})" for surface, level in ordered if level >= 0.5]
    return f"most by {listed(filling)}" if filling else "by no single reflection"


def shares_sentence(share_db: Mapping[str, float]) -> str:
    """Name the causes of a hole with their shares, largest first; what fills it comes last and is said."""
    ordered = sorted(share_db.items(), key=lambda item: -item[1])
    told = [(cause, share) for cause, share in ordered if _whole(share) > 0]
    if not told:
        return "no cause is worth as much as 1 dB"
    return ", ".join(
        f"{cause} {db_words(share)}" if share > 0 else f"{cause} gives back {db_words(share)}"
        for cause, share in told
    )


def coverage_sentence(left_deg: float, right_deg: float, limit_hz: float | None) -> str:
    """Say how wide the speech range is covered and what ends it."""
    if _whole(left_deg) == _whole(right_deg):
        wide = f"{angle_words(left_deg)} to either side"
    else:
        wide = f"{angle_words(left_deg)} to the left and {_whole(right_deg)} to the right"
    ending = "" if limit_hz is None else f"; {frequency_words(limit_hz)} ends it"
    return f"From 200 Hz to 5 kHz the level stays within 6 dB of straight ahead up to {wide}{ending}."


def _whole(number: float) -> int:
    """Round the size of a number to a whole one, halves up."""
    return int(abs(number) + 0.5)


def _the(seat: str, *, first: bool = True) -> str:
    """Put an article before a seat's name unless it brings its own; `first` where it opens the sentence."""
    named = seat if seat.lower().startswith(("the ", "my ", "our ")) else f"the {seat}"
    return (named[:1].upper() if first else named[:1].lower()) + named[1:]
