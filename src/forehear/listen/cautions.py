"""What makes a session worth less than its numbers say."""

from forehear.judge.words import counted
from forehear.listen.plan import Setup
from forehear.listen.session import Session


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
    return tuple(found)


def level_words(setup: Setup) -> str:
    """Say that levels were not matched."""
    apart_db = setup.levels_apart_db
    if apart_db is None:
        why = "nobody measured how loud each was at the seat"
    else:
        why = f"{apart_db:.1f} dB lie between the loudest and the softest at the seat"
    return f"Levels not matched: {why}. The louder of two is often heard as the better one."
