"""A candidate on its stage: which of its speakers play what, and the responses of two ears at a seat."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from forehear.design import Design
from forehear.ground.arrays import FloatArray
from forehear.ground.errors import DataError
from forehear.judge import c50_single_db, clarity_c50_db
from forehear.judge.words import listed
from forehear.listen.head import Head
from forehear.spine.hearing import Ear, Hearing
from forehear.spine.impulse import EVEN
from forehear.spine.reverberation import Reverberation
from forehear.spine.seats import arrivals
from forehear.spine.situation import Setting, begin
from forehear.spine.speech import energy_decay, speech_sound
from forehear.spine.through import Listener, Received, looking, prepare, received


@dataclass(frozen=True, eq=False)
class Stage:
    """A candidate, its network driven, its own speakers standing in the room."""

    setting: Setting

    @classmethod
    def of(cls, design: Design, *, instant: bool = False) -> "Stage":
        """Set a design up, as its reference solution has it where there is one, unless only the instant one is wanted.

        Raises
        ------
        DesignError
            When the network shorts the amplifier.
        """
        hearing = Hearing.standard()
        return cls(begin(design, hearing.instant() if instant else hearing))

    @cached_property
    def standing(self) -> tuple[Reverberation, ...]:
        """Each of its own speakers in the room."""
        speaker, scene = self.setting.speaker, self.setting.scene
        return tuple(Reverberation(speaker, pose, scene.shoebox, EVEN) for pose in scene.poses)

    def ear(self, seat: str) -> Ear:
        """Return a seat by its name.

        Raises
        ------
        DataError
            When the brief has no such seat.
        """
        found = next((ear for ear in self.setting.scene.ears if ear.name == seat), None)
        if found is None:
            brief = self.setting.design.brief
            names = [ear.name for ear in self.setting.scene.ears]
            raise DataError(
                f"the brief has no seat called {seat!r}",
                where=f"{brief.path} > seats",
                cure=f"choose one of {listed(names)}",
            )
        return found

    def prepare(self, seats: tuple[str, ...]) -> None:
        """Solve what several seats have in common, and keep it."""
        middles_m = np.array([self.ear(seat).position_m for seat in seats])
        for reverberation in self.standing:
            prepare(reverberation, self.setting.network.voltage, middles_m)

    def looks_at_m(self, seat: str) -> FloatArray:
        """Return where a listener looks, room axes: between the speakers toward the front wall, or else between all."""
        places_m = np.array([placement.position_m for placement in self.setting.design.placements])
        before = places_m[:, 0] < self.ear(seat).position_m[0]
        middle: FloatArray = places_m[before if before.any() else slice(None)].mean(axis=0)
        return middle

    def heard(self, seat: str, head: Head) -> tuple[Received, ...]:
        """Find the responses at a seat, one a speaker."""
        middle_m = np.array(self.ear(seat).position_m)
        listener = Listener(middle_m, looking(middle_m, self.looks_at_m(seat)), head)
        place = [ear.name for ear in self.setting.scene.ears].index(seat)
        seats, voltage = len(self.setting.scene.ears), self.setting.network.voltage
        return tuple(
            received(reverberation, voltage, listener, seed=index * seats + place)
            for index, reverberation in enumerate(self.standing)
        )

    def plays(self, channels: int) -> NDArray[np.float32]:
        """Say how much of each channel every speaker plays, [speaker, channel].

        Of two channels the speakers farthest left and right play one each; a lone speaker plays their mean. Of one
        channel all speakers play it.
        """
        places = [reverberation.pose.middle_of_front_m[1] for reverberation in self.standing]
        share = np.full((len(places), channels), 1 / channels, dtype=np.float32)
        if channels == 2 and len(places) > 1:
            share[:] = 0.0
            share[int(np.argmin(places)), 0] = share[int(np.argmax(places)), 1] = 1.0
        return share

    def clarity_db(self, seat: str) -> float | None:
        """Return C50 at a seat as a prediction tells it; None where several speakers play at once."""
        if len(self.standing) > 1:
            return None
        middle_m = np.array(self.ear(seat).position_m)
        (reverberation,) = self.standing
        (arriving,), _ = arrivals(reverberation, middle_m[np.newaxis])
        decay = energy_decay(speech_sound(reverberation, arriving, middle_m), self.setting.network.voltage)
        return float(c50_single_db(clarity_c50_db(decay)))
