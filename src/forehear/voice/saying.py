"""What a voicing comes to in words, the same in a terminal and on the desk."""

from forehear.voice.stress import Stress, heat_words
from forehear.voice.yielding import Draw, Yield

CAUTION = (
    "Estimates for one steady signal; parts warm each other, and music differs. Resistors get hot: keep them off "
    "plastic, glue and wires. Solder with fresh air, away from mains; before power goes on, measure the impedance, and "
    "start quietly. Data sheets and local rules come first."
)
STOPPED = {"finished": "", "time": ", stopped by the time", "hand": ", stopped by hand"}
NOTHING_BETTER = "Nothing better was found with these parts; nothing was written."


def yield_words(found: Yield) -> str:
    """Say how many builds come out well."""
    return (
        f"{100 * found.good:.1f} % stay within {found.draw.within_db:g} dB of the curve as drawn at every main seat "
        f"({100 * found.low:.1f} to {100 * found.high:.1f} %, 95 % confidence); 95 % stay within {found.most_db:.2f} dB"
    )


def drawn_words(draw: Draw) -> str:
    """Say how builds were drawn.

    Examples
    --------
    >>> drawn_words(Draw())
    'parts even within the tolerance; drivers Mms, Cms, Bl and Re drawn together; mean level taken out'
    """
    drawn = "normal, a third of the tolerance" if draw.normal else "even within the tolerance"
    return f"parts {drawn}; drivers Mms, Cms, Bl and Re drawn together; mean level taken out"


def first_words(stress: Stress) -> str:
    """Say what gives out first; nothing where nothing has a rating."""
    if stress.first_v == float("inf"):
        return ""
    return f"first to give out: {stress.first}, at {stress.first_v:.0f} V of programme"


def amplifier_words(stress: Stress) -> str:
    """Say what the amplifier meets."""
    return f"the amplifier sees {stress.load.sentence}"


def heat_warnings(stress: Stress) -> list[str]:
    """Warn of every resistor that runs hot."""
    return [words for one in stress.parts if (words := heat_words(one))]
