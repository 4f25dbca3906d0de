"""One open session as pages meet it: a listener's page learns letters and sounds, only the leader's learns names."""

import secrets
from collections.abc import Mapping
from concurrent.futures import Future
from threading import RLock
from typing import Any, TypeAlias

from forehear.app.desk.frames import refusal
from forehear.app.desk.listening_sounds import Sound, blind_bytes, new_name
from forehear.ground.errors import DataError
from forehear.listen.plan import Part, Stimulus, labels_of, numbered
from forehear.listen.session import Answer, Session, close, with_answer, with_finished
from forehear.listen.session_file import Keeper

Sounds: TypeAlias = dict[tuple[int, Stimulus], Sound]  # by programme
RATE_HZ = 48_000
TROUBLE = DataError(
    "the sounds of this session cannot be made now", cure="ask who leads it: the Listen desk says why"
)


class Blind:
    """A session and everything that its pages see. Calls may come from several threads."""

    def __init__(self, keeper: Keeper, sounds: Sounds | None) -> None:
        self.keeper = keeper
        self.sounds = sounds
        self.waiting: Future[None] | None = None  # until its sounds are made
        self.why = ""  # they could not be made, with names: for the Listen desk alone
        self.leader_key = secrets.token_urlsafe(24)
        self._names: dict[str, tuple[int, int, int]] = {}  # of a sound: listener, trial, place
        self._turn: tuple[int, int] | None = None  # whom the leader serves: listener and trial
        self._wished: str | None = None
        self._plays: str | None = None
        self._lock = RLock()

    @property
    def closed(self) -> bool:
        """Whether it takes no more answers."""
        return self.keeper.session.closed

    @property
    def ready(self) -> bool:
        """Whether there is something to be heard."""
        return self.keeper.session.setup.real or self.sounds is not None

    def over(self, done: "Future[None]") -> None:
        """Note how the making of its sounds ended."""
        error = done.exception()
        self.waiting = None
        self.why = "" if error is None else str(error) or "the making of its sounds was stopped"

    # --- listeners ---

    def state(self, listener: int | None) -> dict[str, Any]:
        """Return what a listener's page shows."""
        with self._lock:
            session = self.keeper.session
            setup = session.setup
            known = listener is not None and 0 <= listener < len(setup.listeners)
            number = session.next_trial(listener) if known and listener is not None else None
            return {
                "name": session.name,
                "kind": setup.kind,
                "listeners": list(setup.listeners),
                "attributes": list(setup.attributes),
                "scale": list(setup.scale),
                "real": setup.real,
                "closed": session.closed,
                "ready": self.ready,
                "trouble": refusal(0, TROUBLE) if self.why else None,
                "left": [
                    sum((who, trial) not in session.finished for trial in range(len(trials)))
                    for who, trials in enumerate(session.plan)
                ],
                "trial": None
                if number is None or listener is None or not self.ready
                else self._trial(session, listener, number),
            }

    def _trial(self, session: Session, listener: int, number: int) -> dict[str, Any]:
        trial, setup = session.plan[listener][number], session.setup
        labels = labels_of(setup, trial)
        given = session.given(listener, number).values()
        return {
            "number": number,
            "of": len(session.plan[listener]),
            "labels": list(labels),
            "programme": numbered(setup, trial.programme),
            "sounds": None if setup.real else self._names_for(listener, number, len(labels)),
            "samples": 0 if self.sounds is None else self._samples(trial.programme),
            "rate_hz": RATE_HZ,
            "answers": [
                {"label": one.label, "attribute": one.attribute, "value": one.value} for one in given
            ],
            "wished": self._wished if self._turn == (listener, number) else None,
            "plays": self._plays if self._turn == (listener, number) else None,
        }

    def _names_for(self, listener: int, number: int, count: int) -> list[str]:
        """Return the names of the sounds of a trial, drawn by chance when it is first shown."""
        known = sorted(
            (place[2], name) for name, place in self._names.items() if place[:2] == (listener, number)
        )
        if known:
            return [name for _, name in known]
        names = [new_name() for _ in range(count)]
        self._names |= {name: (listener, number, place) for place, name in enumerate(names)}
        return names

    def _samples(self, programme: int) -> int:
        """Return how long every sound of a clip at a seat is made."""
        own = (sound for (played, _), sound in (self.sounds or {}).items() if played == programme)
        return max(int(sound.shape[-1]) for sound in own)

    def sound(self, name: str) -> bytes | None:
        """Return a sound's bytes; None where there is none of that name any more."""
        with self._lock:
            place = self._names.get(name)
            if place is None or self.sounds is None:
                return None
            trial = self.keeper.session.plan[place[0]][place[1]]
            stimulus = trial.stimuli[place[2]]
            itself = stimulus if stimulus.part is Part.ANCHOR else Stimulus(stimulus.candidate)
            sound, samples = self.sounds[trial.programme, itself], self._samples(trial.programme)
        return blind_bytes(sound, samples)

    def answer(self, message: Mapping[str, Any]) -> None:
        """Take a press; it is in the file when this returns."""
        value = message.get("value")
        answer = Answer(
            _whole(message, "listener"),
            _whole(message, "trial"),
            _text(message, "label"),
            _text(message, "attribute"),
            float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None,
        )
        with self._lock:
            self.keeper.take(lambda session: with_answer(session, answer))

    def finish(self, message: Mapping[str, Any]) -> None:
        """Let a listener go on from a rating."""
        listener, trial = _whole(message, "listener"), _whole(message, "trial")
        with self._lock:
            self.keeper.take(lambda session: with_finished(session, listener, trial))

    def close(self) -> None:
        """Take no more answers; what was hidden may be told."""
        with self._lock:
            self.keeper.take(close)
            self.sounds = None

    # --- real speakers ---

    def wish(self, message: Mapping[str, Any]) -> None:
        """Ask the leader to connect what stands behind a letter."""
        listener, number, label = (
            _whole(message, "listener"),
            _whole(message, "trial"),
            _text(message, "label"),
        )
        with self._lock:
            session = self.keeper.session
            labels = labels_of(session.setup, session.trial(listener, number))
            if not session.setup.real or label not in labels or session.next_trial(listener) != number:
                raise DataError(f"{label[:20]!r} cannot be asked for now", cure="load the page again")
            self._turn, self._wished, self._plays = (listener, number), label, None

    def leading(self, key: str) -> dict[str, Any]:
        """Return what the leader's page shows; names are on it, so it wants the leader's key."""
        with self._lock:
            self._check_leader(key)
            session = self.keeper.session
            turn = self._turn
            if turn is None or session.next_trial(turn[0]) != turn[1]:
                return {"name": session.name, "closed": session.closed, "turn": None}
            trial = session.plan[turn[0]][turn[1]]
            played = session.setup.programmes[trial.programme]
            names = {
                label: session.setup.candidates[stimulus.candidate]
                for label, stimulus in zip(labels_of(session.setup, trial), trial.stimuli, strict=True)
            }
            return {
                "name": session.name,
                "closed": session.closed,
                "turn": {
                    "listener": session.setup.listeners[turn[0]],
                    "number": turn[1],
                    "of": len(session.plan[turn[0]]),
                    "programme": f"{played.clip}; the listener sits at {played.seat}",
                    "wished": self._wished,
                    "plays": self._plays,
                    "connect": names[self._wished] if self._wished else None,
                },
            }

    def plays(self, key: str) -> None:
        """Let the leader say that what was asked for is connected now."""
        with self._lock:
            self._check_leader(key)
            self._plays = self._wished

    def _check_leader(self, key: str) -> None:
        if not secrets.compare_digest(key.encode(), self.leader_key.encode()):
            raise DataError("this page is the leader's alone", cure="open it from the Listen desk")


def _whole(message: Mapping[str, Any], key: str) -> int:
    found = message.get(key)
    if not isinstance(found, int) or isinstance(found, bool) or found < 0:
        raise DataError(f"the page sent no usable {key!r}", cure="load the page again")
    return found


def _text(message: Mapping[str, Any], key: str) -> str:
    found = message.get(key, "")
    if not isinstance(found, str) or len(found) > 80:
        raise DataError(f"the page sent no usable {key!r}", cure="load the page again")
    return found
