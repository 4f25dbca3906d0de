"""What makes a session worth less than its numbers say."""

from forehear.judge.words import counted
from forehear.listen.plan import Known, Setup
from forehear.listen.session import Session

KNOWN = {
    Known.NOT: "",
    Known.TYPED: ", as who led the session wrote down",
    Known.RECORDED: ", by recordings of the same noise there (ITU-R BS.1770)",
    Known.RENDERED: ", as they were rendered, without the head (ITU-R BS.1770)",
}


def cautions_of(session: Session) -> tuple[str, ...]:
    """Return what holds for every kind of session."""
    found = []
    if session.stopped_early:
        done = len(session.finished)
        found.append(
            f"Stopped early: {done} of the {counted(session.planned, 'trial')} fixed before were answered. "
            "Who stops when they please can make chance look like a result."
        )
    if not session.setup.levels_matched:
        found.append(level_words(session.setup))
    seats = {programme.seat for programme in session.setup.programmes}
    if session.setup.real and session.setup.levels_db is not None and len(seats) > 1:
        found.append(f"Levels were measured once, and {counted(len(seats), 'seat')} were listened at.")
    return tuple(found)


def level_words(setup: Setup) -> str:
    """Say that levels were not matched."""
    apart_db = setup.levels_apart_db
    why = "nobody measured how loud each was at the seat" if apart_db is None else _apart(setup, apart_db)
    return f"Levels not matched: {why}. The louder of two is often heard as the better one."


def matched_words(setup: Setup) -> str:
    """Say that levels were matched, and how that is known; nothing where they were not."""
    apart_db = setup.levels_apart_db
    return (
        "" if apart_db is None or not setup.levels_matched else f"Levels matched: {_apart(setup, apart_db)}."
    )


def _apart(setup: Setup, apart_db: float) -> str:
    return f"{apart_db:.1f} dB lie between the loudest and the softest at the seat{KNOWN[setup.levels_known]}"
