"""Listening on the desk: sounds of candidates, sessions in the folder, and what a blind page may know of them."""

import hashlib
import re
import secrets
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from threading import RLock
from typing import Any, TypeVar

from forehear.app.desk.blind import Blind, Sounds
from forehear.app.desk.jobs import Jobs
from forehear.app.desk.listening_asked import Wanted
from forehear.app.desk.listening_sounds import Heard, Make, Shelf
from forehear.app.desk.workbench import Workbench
from forehear.design import Design, load
from forehear.ground.errors import Complaints, DataError, DesignError, ForehearError
from forehear.ground.files import write_atomically
from forehear.ground.work import Progress, part_of
from forehear.listen import decode_clip
from forehear.listen.anchor import anchor_of
from forehear.listen.plan import Known, Origin, Part, Plan, Setup, Stimulus, every_sound, make_plan
from forehear.listen.recorded import recorded_lufs
from forehear.listen.session import begin, new_seed
from forehear.listen.session_file import Keeper, read_session

FOLDER = "listening"  # of a design folder: sessions are people's work
CLIPS = "clips"  # in it: sound files brought by the user
ID = re.compile(r"session-[0-9a-f]{8}")
SOUND_FILES = (".wav", ".flac")
AS_IT_WAS = "put the files of the folder back as they were, or close the session"
Result = TypeVar("Result")


class Listening:
    """Sounds and sessions of one folder. Calls may come from several threads."""

    def __init__(self, bench: Workbench, jobs: Jobs, make: Make) -> None:
        self.make = make
        self.shelf = Shelf()
        self._bench, self._jobs = bench, jobs
        self._open: dict[str, Blind] = {}
        self._asked = ("", "")  # for sounds, last: by which page, and the job
        self._lock = RLock()

    # --- what there is ---

    @property
    def place(self) -> Path:
        """Where sessions lie."""
        return self._bench.folder.path / FOLDER

    def own_clips(self) -> list[str]:
        """List the sound files that the user has brought."""
        folder = self.place / CLIPS
        found = folder.iterdir() if folder.is_dir() else ()
        return sorted(f"{FOLDER}/{CLIPS}/{path.name}" for path in found if path.suffix.lower() in SOUND_FILES)

    def take_clip(self, name: str, data: bytes) -> str:
        """Keep a sound file that the user brings, if it can be played; return its name among the clips."""
        stem, kind = Path(name).stem, Path(name).suffix.lower()
        plain = "".join(one if one.isalnum() or one in " -_" else "_" for one in stem)[:60].strip()
        if kind not in SOUND_FILES or not plain:
            raise DataError(f"{name[:60]!r} is no WAV or FLAC file", cure="bring a .wav or .flac file")
        decode_clip(data, name)
        folder = self.place / CLIPS
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"{plain}{kind}"
        if path.exists() and path.read_bytes() != data:
            raise DataError(
                f"another {path.name} is there already", where=str(path), cure="rename one of them"
            )
        write_atomically(path, data)
        return f"{FOLDER}/{CLIPS}/{path.name}"

    def level(self, name: str, data: bytes) -> dict[str, Any]:
        """Tell how loud a recording of a real speaker is; it is not kept."""
        clip = decode_clip(data, Path(name).name[:60])
        loudness_lufs = round(recorded_lufs(clip), 2)
        return {"loudness_lufs": loudness_lufs, "channels": len(clip.sound), "digest": _digest(data)}

    def sessions(self) -> list[dict[str, Any]]:
        """List the sessions of the folder, the newest first; of a damaged one, what is wrong with it."""
        paths = self.place.glob("session-*.json") if self.place.is_dir() else ()
        known = [path for path in paths if ID.fullmatch(path.stem)]
        known.sort(key=lambda path: (-path.stat().st_mtime, path.name))
        return [self._told(path) for path in known]

    def _told(self, path: Path) -> dict[str, Any]:
        try:
            session = self._open[path.stem].keeper.session if path.stem in self._open else read_session(path)
        except ForehearError as error:
            return {"id": path.stem, "trouble": str(error)}
        return {
            "id": path.stem,
            "name": session.name,
            "kind": session.setup.kind,
            "begun": session.begun,
            "done": len(session.finished),
            "of": session.planned,
            "real": session.setup.real,
            "closed": session.closed,
            "why": self._open[path.stem].why if path.stem in self._open else "",
            "leader": self.blind(path.stem).leader_key if session.setup.real and not session.closed else None,
        }

    # --- sounds of the Listen desk ---

    def sounds(
        self, candidates: Sequence[str], seat: str, clip: str, page: str = ""
    ) -> Future[list[tuple[str, Heard]]]:
        """Begin to make the sounds of candidates as they stand on the desk now, saved or not.

        What the same page asked for before is stopped: it brings no sounds.
        """
        designs = [self._bench.design(name) for name in candidates]
        self._check_seat(designs, seat)

        def make(progress: Progress) -> list[tuple[str, Heard]]:
            made = self.make(designs, seat, self.clip_place(clip), progress)
            return [(self.shelf.put(heard), heard) for heard in made]

        before, job = self._asked
        if page and page == before:
            self._jobs.stop(job)
        future, job = self._begun("Making the sounds", make, awaited=True)
        self._asked = (page, job)
        return future

    def clip_place(self, clip: str) -> str:
        """Return a bundled clip's name as it is, and of a file of the folder where it lies."""
        return str(self._bench.folder.inside(clip)) if clip.startswith(f"{FOLDER}/") else Path(clip).name

    @staticmethod
    def _check_seat(designs: Sequence[Design], seat: str) -> None:
        seats = [one.name for one in designs[0].brief.seats] if designs else []
        if not designs:
            raise DesignError("no candidate is chosen", cure="choose at least one")
        if seat not in seats:
            raise DesignError(f"there is no seat {seat[:40]!r}", cure=f"choose one of {', '.join(seats)}")

    def _as_job(self, title: str, work: Callable[[Progress], Result]) -> Future[Result]:
        """Do something long as a job; whoever waits for it hears how it ended."""
        return self._begun(title, work, awaited=False)[0]

    def _begun(
        self, title: str, work: Callable[[Progress], Result], *, awaited: bool
    ) -> tuple[Future[Result], str]:
        future: Future[Result] = Future()

        def job(progress: Progress) -> None:
            try:
                future.set_result(work(progress))
            except (ForehearError, Complaints) as error:
                future.set_exception(error)  # whoever asked tells it
            except BaseException as error:
                future.set_exception(error)
                raise

        return future, self._jobs.begin("listen", title, job, awaited=awaited)

    # --- sessions ---

    def begin(self, wanted: Wanted) -> Future[str]:
        """Begin a session: its sounds are made first, so that how loud they are is known before the first answer."""
        if wanted.setup.real:
            future: Future[str] = Future()
            future.set_result(self._write(wanted.name, wanted.setup, new_seed(), None))
            return future
        if self._bench.unsaved():
            raise DesignError("the desk holds unsaved changes", cure="save them, then begin the session")
        designs = [self._saved(name) for name in wanted.files]

        def make(progress: Progress) -> str:
            seed, clips = new_seed(), self._clip_origins(wanted.setup)
            sounds, levels_db = self._made(designs, wanted.setup, make_plan(wanted.setup, seed), progress)
            setup = replace(
                wanted.setup,
                origins=tuple(map(_origin, wanted.files, designs)),
                clips=clips,
                levels_db=levels_db,
                levels_known=Known.RENDERED,
            )
            return self._write(wanted.name, setup, seed, sounds)

        return self._as_job("Making the sounds of a session", make)

    def _saved(self, name: str) -> Design:
        if name not in self._bench.folder.candidates:
            raise DesignError(f"there is no candidate {name[:40]!r}", cure="load the page again")
        return load(self._bench.folder.inside(name))

    def _made(
        self, designs: Sequence[Design], setup: Setup, plan: Plan, progress: Progress
    ) -> tuple[Sounds, tuple[float, ...]]:
        """Make every sound that a plan needs; return them, and each candidate's loudness [LUFS]."""
        sounds: Sounds = {}
        levels_db: tuple[float, ...] = ()
        needed = every_sound(plan)
        for programme in setup.programmes:
            self._check_seat(designs, programme.seat)
        played = sorted({number for number, _ in needed})  # fewer than there are where trials are few
        for done, number in enumerate(played):
            programme = setup.programmes[number]
            share = part_of(progress, done / len(played), (done + 1) / len(played))
            made = self.make(designs, programme.seat, self.clip_place(programme.clip), share)
            for index, heard in enumerate(made):
                sounds[number, Stimulus(index)] = heard.sound
                worse = Stimulus(index, Part.ANCHOR)
                if (number, worse) in needed:
                    sounds[number, worse] = anchor_of(heard.sound)
            here = tuple(heard.loudness_lufs for heard in made)
            if not levels_db or max(here) - min(here) > max(levels_db) - min(levels_db):
                levels_db = here  # of the programme where they lie farthest apart
        return sounds, levels_db

    def _write(self, name: str, setup: Setup, seed: int, sounds: Sounds | None) -> str:
        session = begin(setup, name, datetime.now(UTC).date().isoformat(), seed)
        self.place.mkdir(exist_ok=True)
        key = f"session-{secrets.token_hex(4)}"
        keeper = Keeper.begin(self.place / f"{key}.json", session)
        with self._lock:
            self._keep_few()
            self._open[key] = Blind(keeper, sounds)
        return key

    def blind(self, key: str) -> Blind:
        """Return an open session; one of the folder that is not open yet is opened."""
        with self._lock:
            if key not in self._open:
                if not ID.fullmatch(key):
                    raise DataError(f"there is no session {key[:40]!r}", cure="go back to the Listen desk")
                keeper = Keeper.resume(self.place / f"{key}.json")
                self._keep_few()
                self._open[key] = Blind(keeper, None)
            return self._open[key]

    def _keep_few(self) -> None:
        """Let the sounds of older sessions go; they are made again when somebody goes on with one."""
        for blind in list(self._open.values())[:-1]:
            blind.sounds = None

    def prepare(self, key: str) -> None:
        """See to it that the sounds of a session are there, or on their way."""
        blind = self.blind(key)
        with self._lock:
            if blind.ready or blind.closed or blind.waiting is not None:
                return
            blind.why = ""
            session = blind.keeper.session
            setup = session.setup
            try:
                designs = [self._as_it_was(origin) for origin in setup.origins]
                for clip in setup.clips:
                    if self._clip_origin(clip.file) != clip:
                        raise _changed(clip.file)
            except (ForehearError, Complaints) as error:
                blind.why = str(error)  # names files: no listener's page is told
                return

            def make(progress: Progress) -> None:
                blind.sounds, _ = self._made(designs, setup, session.plan, progress)

            blind.waiting = self._as_job("Making the sounds of a session", make)
            blind.waiting.add_done_callback(blind.over)

    def _as_it_was(self, origin: Origin) -> Design:
        design = self._saved(origin.file)
        if _origin(origin.file, design) != origin:
            raise _changed(f"{origin.file}, or what it is made of,")
        return design

    def _clip_origins(self, setup: Setup) -> tuple[Origin, ...]:
        """Return what the user's own clips are, each once; the bundled ones stay as they are."""
        names = dict.fromkeys(programme.clip for programme in setup.programmes)
        return tuple(self._clip_origin(name) for name in names if name.startswith(f"{FOLDER}/"))

    def _clip_origin(self, name: str) -> Origin:
        try:
            data = Path(self.clip_place(name)).read_bytes()
        except OSError as error:
            raise DataError(f"{name} cannot be read: {error.strerror}", where=name, cure=AS_IT_WAS) from None
        return Origin(name, _digest(data))

    def close(self, key: str) -> None:
        """Close a session: no more answers, and everything is told."""
        self.blind(key).close()


def _changed(what: str) -> DesignError:
    return DesignError(f"{what} has changed since the session began", cure=AS_IT_WAS)


def _origin(file: str, design: Design) -> Origin:
    """Return what a candidate is, by what stands in its files."""
    return Origin(file, _digest(*(document.source.encode() for document in design.documents)))


def _digest(*parts: bytes) -> str:
    digest = hashlib.blake2b(digest_size=16)
    for part in parts:
        digest.update(part)
    return digest.hexdigest()
