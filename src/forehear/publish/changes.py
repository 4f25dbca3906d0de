"""What treating a surface, moving the speaker or moving the head would do to every seat."""

from forehear.judge import SPREAD_STEP, difference_words
from forehear.judge.noticeable import SAME
from forehear.judge.words import listed
from forehear.publish.heard import seat_label
from forehear.publish.markup import Markup, element, figure, joined, table
from forehear.publish.pictures.bars import signed_bars
from forehear.publish.turning import now_turn
from forehear.publish.words import number, quantity
from forehear.spine.prediction import Prediction, RoomChange, RoomStory
from forehear.spine.room_story import HEAD_M, TREATED

LEAST_SAID_DB = 0.05


def changes_figure(prediction: Prediction, name: str, story: RoomStory) -> Markup:
    """Draw by how much each change moves the mean spread."""
    changes = (*story.treated, *story.moved)
    bars = [(short_doing(change), -change.gained_db) for change in changes]
    longest = max(0.5, *(abs(worth) for _, worth in bars))
    picture = signed_bars(f"Mean spread of {name} after each change, less the spread now", bars, longest)
    caption = joined(
        [
            "Surfaces treated, speaker moved ",
            element(
                "small", "what the mean spread of all seats rises by; to the left the seats become evener"
            ),
        ]
    )
    return figure(caption, picture, _table(prediction, story))


def short_doing(change: RoomChange) -> str:
    """Name a change so that it fits beside a bar.

    Examples
    --------
    >>> short_doing(RoomChange("move the speaker 20 cm toward the rear wall", (), 0.0))
    '20 cm to the rear wall'
    """
    words = change.doing.removeprefix("move the speaker ").replace("toward the", "to the")
    return f"{words.removeprefix('treat the ')} treated" if words.startswith("treat the ") else words


def changes_words(prediction: Prediction, story: RoomStory) -> Markup:
    """Say which surface matters most, which move helps most, and what a moved head hears."""
    items = []
    if story.treated:
        most = story.treated[0]
        surface = most.doing.removeprefix("treat the ")
        items.append(
            f"The surface that matters most is the {surface}: made to swallow {number(100 * TREATED)} % "
            f"of the sound, as thick porous panels do, the mean spread {_moves(most)}.{_who(prediction, story, most)}"
        )
    helpful = [change for change in story.moved if change.gained_db >= LEAST_SAID_DB]
    if helpful:
        best = helpful[0]
        words = f"The move that helps most is {best.doing.removeprefix('move the speaker ')}: the mean spread"
        items.append(f"{words} {_moves(best)}.{_who(prediction, story, best)}")
    elif story.moved:
        items.append("No small move of the speaker makes the seats evener.")
    items.append(_head_words(prediction, story))
    return element("ul", *(element("li", words) for words in items if words))


def _moves(change: RoomChange) -> str:
    if abs(change.gained_db) < LEAST_SAID_DB:
        return "stays as it is"
    way = "falls" if change.gained_db > 0 else "rises"
    heard = "" if SPREAD_STEP.tells_apart(change.gained_db, 0.0) else f", {SAME}"
    return f"{way} by {quantity(abs(change.gained_db), 'dB', 1)}{heard}"


def _who(prediction: Prediction, story: RoomStory, change: RoomChange) -> str:
    """Name the seats that would hear a change, with what it gives and takes."""
    now = story.turning.spread_db[:, now_turn(story.turning)]
    heard = []
    for seat, before, after in zip(prediction.seats, now.tolist(), change.spread_db, strict=True):
        words = difference_words(after, before, SPREAD_STEP)
        if words != SAME:
            heard.append(f"{seat_label(seat, prediction.seats)} (spread {words})")
    if heard:
        return f" Only these seats would hear it: {listed(heard)}."
    return "" if not SPREAD_STEP.tells_apart(change.gained_db, 0.0) else " No seat by itself would hear it."


def _head_words(prediction: Prediction, story: RoomStory) -> str:
    """Tell the seat that a moved head changes most."""
    if not prediction.seats:
        return ""
    now = story.turning.spread_db[:, now_turn(story.turning)]
    most = int((story.head_moved_db - now).argmax())
    before, after = float(now[most]), float(story.head_moved_db[most])
    heard = f", {SAME}" if not SPREAD_STEP.tells_apart(before, after) else ""
    return (
        f"A head moved by {number(100 * HEAD_M)} cm to either side, forward or back changes "
        f"{seat_label(prediction.seats[most], prediction.seats)} most: at worst its spread is "
        f"{quantity(after, 'dB', 1)} instead of {quantity(before, 'dB', 1)}{heard}."
    )


def _table(prediction: Prediction, story: RoomStory) -> Markup:
    labels = [seat_label(seat, prediction.seats) for seat in prediction.seats]
    heads = ["spread, dB", *labels, "mean falls by, dB"]
    now = story.turning.spread_db[:, now_turn(story.turning)]
    rows = [
        ["as it is", *(number(value, 1) for value in now.tolist()), ""],
        ["head moved, at worst", *(number(value, 1) for value in story.head_moved_db.tolist()), ""],
    ]
    rows += [
        [change.doing, *(number(value, 1) for value in change.spread_db), number(change.gained_db, 1)]
        for change in (*story.treated, *story.moved)
    ]
    note = "Tried with fewer reflections counted one by one than the seats above, so a little off from them."
    return joined([table(heads, rows), element("p", note, class_="note")])
