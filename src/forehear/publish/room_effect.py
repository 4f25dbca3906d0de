"""What the room does to one candidate."""

from forehear.publish.arriving import arriving_figures
from forehear.publish.changes import changes_figure, changes_words
from forehear.publish.markup import Markup, element, joined
from forehear.publish.turning import turning_figure, turning_words
from forehear.publish.without_room import without_room_figures, without_room_words
from forehear.spine.prediction import Prediction

NOT_TRIED = "Turns, treated surfaces and moves were not tried."


def room_effect(prediction: Prediction, name: str, index: int) -> Markup:
    """Return everything that the room does, turned, bare, in time, and changed."""
    if not prediction.seats:
        return joined([element("h3", name), element("p", "No seat hears it.", class_="quiet")])
    story = prediction.room
    words = [_told("With the room, seat by seat", without_room_words(prediction))]
    pictures = without_room_figures(prediction, name)
    if story is None:
        words.append(element("p", NOT_TRIED, class_="quiet"))
    else:
        words.append(_told("Turned", turning_words(prediction, story.turning)))
        words.append(_told("What would change it", changes_words(prediction, story)))
        pictures.append(turning_figure(prediction, name, story.turning))
        pictures.append(changes_figure(prediction, name, story))
    pictures += arriving_figures(prediction, name)
    return element(
        "div",
        element("h3", name),
        element("div", *words, class_="card"),
        element("div", *pictures, class_="grid two"),
        id=f"effect-{index + 1}",
    )


def _told(label: str, content: Markup) -> Markup:
    return joined([element("p", element("b", label)), content])
