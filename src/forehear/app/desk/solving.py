"""From what is to be shown to its picture; designs solved lately are remembered."""

from collections import OrderedDict
from dataclasses import replace
from threading import Lock
from typing import Generic, TypeVar

from forehear.app.desk.frames import Packed
from forehear.app.desk.network_shown import Effects
from forehear.app.desk.picture import Shown, picture
from forehear.app.desk.sight import WHOLE, Part, Sight
from forehear.app.desk.workbench import View
from forehear.design import Design
from forehear.ground.work import Progress, part_of
from forehear.spine.around import Circle
from forehear.spine.hearing import Hearing
from forehear.spine.live import Live, Reasons, explain, solve_live, with_ranges
from forehear.spine.prediction import RoomStory, Together
from forehear.spine.room_story import tell_room
from forehear.spine.situation import refine_design
from forehear.spine.steps import step_effects
from forehear.spine.together import play_together

Result = TypeVar("Result")


class Lately(Generic[Result]):
    """The last few answers about whole designs, found by the design itself."""

    def __init__(self, most: int = 5) -> None:
        self._most = most
        self._found: OrderedDict[int, tuple[Design, Result]] = OrderedDict()

    def get(self, design: Design) -> Result | None:
        """Return the answer about a design, if it is still known."""
        known = self._found.get(id(design))
        return known[1] if known and known[0] is design else None

    def put(self, design: Design, result: Result) -> Result:
        """Remember an answer."""
        self._found[id(design)] = (design, result)
        self._found.move_to_end(id(design))
        while len(self._found) > self._most:
            self._found.popitem(last=False)
        return result


class Solver:
    """Makes pictures: quickly without reasons, or with them."""

    def __init__(self, hearing: Hearing | None = None) -> None:
        self._hearing = hearing or Hearing.standard()
        self._refining = Lock()
        self.forget()

    def forget(self) -> None:
        """Forget every answer: a shape has been solved otherwise."""
        self._heard_wholly: str | None = None  # what was heard with every reflection, last
        self._lives: Lately[Live] = Lately()
        self._reasons: Lately[tuple[Reasons, Effects]] = Lately()
        self._stories: Lately[tuple[RoomStory, Together | None]] = Lately()
        self._newest: tuple[str, tuple[Reasons, Effects]] | None = None

    def refine(self, design: Design, progress: Progress) -> None:
        """Solve the shape of a design by the reference solver, one at a time; `forget` lets it be heard after."""
        with self._refining:
            if self._hearing.reach is not None:
                refine_design(design, self._hearing.reach, progress)

    def quickly(self, view: View, sight: Sight = WHOLE) -> tuple[Shown, Packed]:
        """Solve what changed and is in sight, without the reasons.

        Those shown are of this very design, or else older ones of the same file.
        """
        own = self._reasons.get(view.design)
        story, together = self._stories.get(view.design) or (None, None)
        older = self._newest if self._newest and self._newest[0] == view.design.document.label else None
        reasons, effects = own or (older[1] if older else (None, None))
        shown = Shown(
            live=self._in_hand(view.design, sight) if sight != WHOLE else self._rested(view.design),
            kept=self._live(view.kept) if view.kept else None,
            other=self._live(view.other) if view.other else None,
            reasons=reasons,
            effects=effects,
            story=story,
            together=together,
            full=own is not None,
        )
        return shown, picture(view.state, shown, sight)

    def fully(self, view: View, shown: Shown, progress: Progress) -> tuple[Shown, Packed]:
        """Find the reasons of what was shown; whoever listens to the progress may stop it by raising."""
        reasons = explain(shown.live, part_of(progress, 0.0, 0.7))
        effects = effects_of(shown.live, part_of(progress, 0.7, 1.0))
        self._newest = (view.design.document.label, self._reasons.put(view.design, (reasons, effects)))
        reasoned = replace(shown, reasons=reasons, effects=effects, full=True)
        return reasoned, picture(view.state, reasoned)

    def with_story(self, view: View, shown: Shown, progress: Progress) -> Packed:
        """Say how sure it is, try turns, moves and treated surfaces, and hear all speakers at once: it takes longer."""
        found, reasons = self._stories.get(view.design), shown.reasons
        if found is None:
            if reasons is not None:
                reasons = with_ranges(shown.live, reasons, part_of(progress, 0.0, 0.4))
                self._newest = (view.design.document.label, (reasons, shown.effects or {}))
                self._reasons.put(view.design, self._newest[1])
            together = play_together(shown.live.situation, part_of(progress, 0.4, 0.5))
            story = tell_room(shown.live.situation, part_of(progress, 0.5, 1.0))
            found = self._stories.put(view.design, (story, together))
        return picture(view.state, replace(shown, reasons=reasons, story=found[0], together=found[1]))

    def _in_hand(self, design: Design, sight: Sight) -> Live:
        """Hear a design while it changes: with fewer reflections where shape or place has changed since it rested."""
        live = solve_live(design, self._hearing)
        if live.shape_and_place == self._heard_wholly:
            return self._lives.get(design) or self._lives.put(design, live)
        return live.quickly(next((circle for circle in Circle if Part(circle) not in sight), None))

    def _rested(self, design: Design) -> Live:
        live = self._live(design)
        self._heard_wholly = live.shape_and_place
        return live

    def _live(self, design: Design) -> Live:
        return self._lives.get(design) or self._lives.put(design, solve_live(design, self._hearing))


def effects_of(live: Live, progress: Progress) -> Effects:
    """Say for every part what one step up of its value does to each seat."""
    seats = live.situation.seats
    return {
        effect.keys: [
            {"placement": seat.placement, "seat": seat.name, "db": round(change_db, 4)}
            for seat, change_db in zip(seats, effect.spread_db, strict=False)  # none where it cannot be made
        ]
        for effect in step_effects(live, progress)
    }
