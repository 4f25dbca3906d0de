"""What a closed session says, in plain words: what was heard, what was not shown, and what cannot be told."""

from forehear.ground.errors import DataError
from forehear.listen.choices import analyse_abx, analyse_pairs
from forehear.listen.findings import Analysis
from forehear.listen.plan import Kind
from forehear.listen.ratings import analyse_ratings
from forehear.listen.session import Session


def analyse(session: Session) -> Analysis:
    """Analyse a closed session.

    Raises
    ------
    DataError
        When it is still open: whoever looks at results before the end is tempted to stop where they please.
    """
    if not session.closed:
        raise DataError(
            "the session is not closed yet, so nothing of it is told", cure="close it on the Listen desk"
        )
    ways = {Kind.ABX: analyse_abx, Kind.RATING: analyse_ratings, Kind.PAIRS: analyse_pairs}
    return ways[session.setup.kind](session)
