"""How to read the report, and what in it is estimated."""

from collections.abc import Sequence

from forehear.publish.markup import Markup, element, joined
from forehear.publish.words import quantity
from forehear.spine.prediction import Prediction, Trace

WORDS = (
    (
        "spread",
        "how unevenly a seat hears: the standard deviation of the ear-smoothed level in the room "
        "about its trend, equal weight to each critical band (ERB), 200 Hz to 10 kHz. Direct spread: "
        "the same of the sound that comes straight from the speaker, about the curve on axis.",
    ),
    (
        "hole",
        "a dip deeper than 3 dB below the trend over at least a third of an octave, 200 Hz to 10 kHz."
        " Depths are capped at 20 dB.",
    ),
    (
        "trend",
        "in the room the straight line fitted from 300 Hz to 6 kHz, or the slope the brief asks for; "
        "for the direct sound the curve on axis at the same distance.",
    ),
    (
        "clarity C50",
        "energy of speech that arrives within 50 ms of the direct sound over all that arrives later, in dB"
        " (ISO 3382-1); one number is the plain mean of the octaves 500 Hz, 1, 2 and 4 kHz. The higher the clearer.",
    ),
    (
        "U50",
        "the same with the noise of the room added to what arrives late (Bradley 1986; Bradley, Sato and Picard 2003).",
    ),
    (
        "STI",
        "speech transmission index, 0 to 1: how much of the rise and fall of speech arrives through echo and noise"
        " (IEC 60268-16); its words bad, poor, fair, good, excellent begin at 0, 0.30, 0.45, 0.60 and 0.75 (ISO 9921).",
    ),
    (
        "dB(A)",
        "a level weighted as the ear hears quiet sounds (IEC 61672-1); speech at 1 m has 60 dB(A) in a normal voice"
        " (IEC 60268-16).",
    ),
    (
        "what you could hear",
        "differences of at least 1.1 dB of C50 and 0.03 of STI (Bradley, Reich and Norcross 1999, from memory; taken"
        " for U50, too) and 1 dB of spread (our own choice). Less is called no difference you could hear.",
    ),
    (
        "range",
        "in brackets, and as a line through a dot: where the number lies with a chance of 90 %, given what the brief"
        " says may be otherwise. Where two ranges overlap nothing is claimed for sure.",
    ),
    (
        "turned, treated, moved",
        "the same prediction again with the speaker turned, a surface made to swallow 80 %, the speaker moved by 20 cm"
        " or the head by 10 cm; fewer reflections are counted one by one, so numbers may differ a little.",
    ),
    (
        "fills",
        "how many dB of a direct hole would come back if this one reflection were taken away (our own definition).",
    ),
    (
        "decay",
        "energy still to come after a time, re all that arrives (ISO 3382-1, summed from the end).",
    ),
    (
        "spread among seats",
        "how differently the seats hear once each seat’s own loudness is taken out.",
    ),
    (
        "level",
        "dB re 20 µPa for 2.83 V at the terminals; at a seat with its true distance, elsewhere at 1 m.",
    ),
    (
        "the room",
        "all reflections: first ones exactly, later ones counted one by one as far as they matter, the rest by"
        " their average; below about 100 Hz the modes of the room.",
    ),
    (
        "standard curves",
        "the averages of ANSI/CTA-2034-A over both orbits; early reflections are the mean of the five"
        " surfaces’ means.",
    ),
)


def reading(predictions: Sequence[Prediction], names: Sequence[str]) -> Markup:
    """Return the words used, then the trace of each candidate."""
    words = [piece for word, meaning in WORDS for piece in (element("dt", word), element("dd", meaning))]
    traces = (_trace(prediction.trace, name) for prediction, name in zip(predictions, names, strict=True))
    return joined(
        [
            element("div", element("h3", "Words"), element("dl", *words, class_="facts"), class_="card"),
            element("div", *traces, class_="grid three text"),
        ]
    )


def _trace(trace: Trace, name: str) -> Markup:
    versions = ", ".join(f"{stage} {version}" for stage, version in sorted(trace.versions.items()))
    facts: tuple[tuple[str, str], ...] = (
        ("solver", trace.solver_words),
        ("time", quantity(trace.seconds, "s", 1)),
        ("design", trace.design_hash[:16]),
    )
    facts += (("versions", versions),) if versions else ()
    told = [piece for label, words in facts for piece in (element("dt", label), element("dd", words))]
    estimated = [element("li", words) for words in trace.estimated] or [element("li", "nothing")]
    pieces = (element("p", element("b", "Estimated, not measured or exact")), element("ul", *estimated))
    return element("div", element("h3", name), *pieces, element("dl", *told, class_="facts"), class_="card")
