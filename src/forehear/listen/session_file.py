"""The file of a session: JSON, one for each session, written whole after every press."""

import json
from collections.abc import Callable
from dataclasses import asdict, replace
from pathlib import Path
from typing import Any

from forehear.ground.errors import DataError
from forehear.ground.files import write_atomically
from forehear.listen.plan import Kind, Known, Origin, Part, Plan, Programme, Setup, Stimulus, Trial
from forehear.listen.sealing import sealed, unsealed
from forehear.listen.session import Answer, Session, checked

FORMAT = "forehear-listening/1"
FAMILY = "forehear-listening/"
LARGEST_BYTES = 20_000_000
HIDDEN = ("candidates", "origins", "clips", "repeat", "anchor", "levels_db", "levels_known")  # of the setup
OPENLY = ("kind", "listeners", "programmes", "trials", "attributes", "scale", "real")


def as_text(session: Session) -> str:
    """Return a session as the text of its file; who is who is sealed in it until it is closed."""
    setup = asdict(session.setup)
    secret = {
        **{key: setup[key] for key in HIDDEN},
        "seed": f"{session.seed:x}",
        "plan": [[_trial_as_plain(trial) for trial in trials] for trials in session.plan],
    }
    plain = {
        "format": FORMAT,
        "name": session.name,
        "begun": session.begun,
        **{key: setup[key] for key in OPENLY},
        "closed": session.closed,
        "opened" if session.closed else "sealed": secret if session.closed else sealed(secret),
        "answers": [_answer_as_plain(answer) for answer in session.answers],
        "finished": sorted(map(list, session.finished)),
    }
    return json.dumps(plain, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def read_session(path: Path) -> Session:
    """Read a session.

    Raises
    ------
    DataError
        When there is none, it is damaged, or another version wrote it; the file stays as it is.
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise DataError(f"it is larger than {LARGEST_BYTES // 1_000_000} MB", cure="name a session file")
        text = path.read_text(encoding="utf-8")
    except OSError as error:
        raise DataError(
            f"cannot read {path}: {error.strerror}", where=str(path), cure="name a session file"
        ) from error
    except UnicodeDecodeError:
        raise DataError("it is not text", where=str(path), cure="name a session file") from None
    except DataError as error:
        raise DataError(error.what, where=str(path), cure=error.cure) from None
    return from_text(text, str(path))


def from_text(text: str, where: str) -> Session:
    """Return the session that a text holds; `where` names the file in complaints."""
    try:
        plain = json.loads(text)
    except json.JSONDecodeError as error:
        place = f"{where}:{error.lineno}:{error.colno}"
        raise _damaged(f"no JSON from here on ({error.msg})", place) from None
    except RecursionError:
        raise _damaged("it is nested too deeply", where) from None
    _check_format(plain, where)
    try:
        return _session_of(plain)
    except DataError as error:
        raise _damaged(error.what, where) from None
    except (KeyError, TypeError, ValueError, IndexError, AttributeError) as error:
        raise _damaged(f"something is missing or out of place: {error!r}", where) from None


def _check_format(plain: object, where: str) -> None:
    found = plain.get("format") if isinstance(plain, dict) else None
    if found == FORMAT:
        return
    if isinstance(found, str) and found.startswith(FAMILY):
        raise DataError(
            f"this session has format {found[:60]!r}; this version of forehear reads {FORMAT!r}",
            where=where,
            cure="open it with the version that wrote it; nothing was changed",
        )
    raise DataError("this is no listening session", where=where, cure=f"name a JSON file of format {FORMAT}")


def _damaged(what: str, where: str) -> DataError:
    return DataError(
        f"the session file is damaged: {what}",
        where=where,
        cure="put back a copy of it, or begin a new session; nothing was changed",
    )


def _session_of(plain: dict[str, Any]) -> Session:
    known = {"format", "name", "begun", *OPENLY, "closed", "opened", "sealed", "answers", "finished"}
    strange = sorted(plain.keys() - known)
    if strange:
        raise ValueError(f"unknown key {strange[0]!r}")
    closed = plain["closed"]
    secret = plain["opened"] if closed else unsealed(plain["sealed"])
    setup = _setup_of(plain, secret)
    plan: Plan = tuple(tuple(_trial_of(trial) for trial in trials) for trials in secret["plan"])
    if len(plan) != len(setup.listeners):
        raise ValueError(f"a plan for {len(plan)} listeners of {len(setup.listeners)}")
    session = Session(_text(plain["name"]), _text(plain["begun"]), setup, int(secret["seed"], 16), plan)
    answers = tuple(Answer(**answer) for answer in plain["answers"])
    finished = frozenset((int(listener), int(trial)) for listener, trial in plain["finished"])
    return checked(replace(session, answers=answers, finished=finished, closed=bool(closed)))


def _setup_of(plain: dict[str, Any], secret: dict[str, Any]) -> Setup:
    levels = secret["levels_db"]
    low, high = plain["scale"]
    return Setup(
        kind=Kind(plain["kind"]),
        candidates=tuple(map(_text, secret["candidates"])),
        listeners=tuple(map(_text, plain["listeners"])),
        programmes=tuple(Programme(**one) for one in plain["programmes"]),
        trials=int(plain["trials"]),
        attributes=tuple(map(_text, plain["attributes"])),
        scale=(int(low), int(high)),
        repeat=bool(secret["repeat"]),
        anchor=bool(secret["anchor"]),
        real=bool(plain["real"]),
        levels_db=None if levels is None else tuple(map(float, levels)),
        levels_known=Known(secret.get("levels_known", "")),  # the first files had neither this
        origins=tuple(Origin(**one) for one in secret["origins"]),
        clips=tuple(Origin(**one) for one in secret.get("clips", ())),  # nor this
    )


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError(f"{value!r} is no text")
    return value


def _trial_as_plain(trial: Trial) -> dict[str, Any]:
    sounds = [[stimulus.candidate, stimulus.part] for stimulus in trial.stimuli]
    return {"programme": trial.programme, "sounds": sounds}


def _trial_of(plain: dict[str, Any]) -> Trial:
    sounds = tuple(Stimulus(int(candidate), Part(part)) for candidate, part in plain["sounds"])
    return Trial(int(plain["programme"]), sounds)


def _answer_as_plain(answer: Answer) -> dict[str, Any]:
    told = {"listener": answer.listener, "trial": answer.trial, "label": answer.label}
    return told if answer.value is None else {**told, "attribute": answer.attribute, "value": answer.value}


class Keeper:
    """One session and its file. A press counts once the file holds it; one thread at a time calls it."""

    def __init__(self, path: Path, session: Session, written: str | None) -> None:
        self.path = path
        self.session = session
        self._written = written

    @classmethod
    def begin(cls, path: Path, session: Session) -> "Keeper":
        """Write the file of a new session; never over another file."""
        if path.exists():
            raise DataError(f"{path.name} is there already", where=str(path), cure="choose another name")
        keeper = cls(path, session, None)
        keeper._write(session)
        return keeper

    @classmethod
    def resume(cls, path: Path) -> "Keeper":
        """Go on with the session of a file."""
        session = read_session(path)
        return cls(path, session, path.read_text(encoding="utf-8"))

    def take(self, press: Callable[[Session], Session]) -> Session:
        """Take a press: it is in the file when this returns, and nowhere when it raises."""
        after = press(self.session)
        if after is not self.session:
            self._write(after)
        return after

    def _write(self, session: Session) -> None:
        text = as_text(session)
        if self._written is not None and self._on_disk() != self._written:
            raise DataError(
                f"{self.path.name} was changed or taken away by another program",
                where=str(self.path),
                cure="put it back or close the other program, then open the session again",
            )
        write_atomically(self.path, text)
        self._written, self.session = text, session

    def _on_disk(self) -> str | None:
        try:
            return self.path.read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError):
            return None
