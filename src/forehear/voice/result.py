"""What a voicing comes to, ready to be written and shown: files, yield and stress of every network offered."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from forehear.design import Design
from forehear.ground.work import Progress, unseen
from forehear.voice.shop import make_words, tolerance_of
from forehear.voice.stress import Stress, stress_of
from forehear.voice.voicing import Candidate, Voiced
from forehear.voice.writing import free_path, with_layout
from forehear.voice.yielding import Draw, Yield, yield_of


@dataclass(frozen=True, eq=False)
class Offered:
    """One network offered: as a design, how many of it come out well, and what its parts bear."""

    candidate: Candidate
    design: Design
    path: Path
    builds: Yield
    stress: Stress


@dataclass(frozen=True, eq=False)
class Offers:
    """The design as it is, and the short list beside it."""

    before: Offered
    after: tuple[Offered, ...]  # best first


def offers_of(voiced: Voiced, draw: Draw, voltage_v: float, progress: Progress = unseen) -> Offers:
    """Judge the short list again: with parts and drivers off, and under load. Nothing is written."""
    taken: tuple[Path, ...] = ()
    after = []
    quick = replace(draw, spoilers=False)
    for place, candidate in enumerate(voiced.short_list):
        progress(place / (len(voiced.short_list) + 1), "builds of what was found")
        path = free_path(voiced.design, taken)
        taken = (*taken, path)
        title = f"{voiced.design.title} voiced {path.stem.rsplit('-', 1)[1]}"
        design = with_layout(voiced.design, candidate.layout, title, _notes(voiced, candidate))
        after.append(_offered(voiced, candidate, design, path, (quick, voltage_v)))
    before = _offered(voiced, voiced.before, voiced.design, voiced.design.path, (quick, voltage_v))
    progress(1.0, "done")
    return Offers(before, tuple(after))


def _offered(
    voiced: Voiced, candidate: Candidate, design: Design, path: Path, how: tuple[Draw, float]
) -> Offered:
    situation, layout, like = voiced.situation, candidate.layout, voiced.evaluator
    draw, voltage_v = how
    return Offered(
        candidate,
        design,
        path,
        yield_of(situation, layout, like, draw),
        stress_of(voiced.design, situation.speaker, layout, like, voltage_v),
    )


def _notes(voiced: Voiced, candidate: Candidate) -> str:
    older = voiced.design.document.plain().get("notes")
    ours = (
        f"Voiced from {voiced.design.path.name}: unevenness {voiced.goal_before_db:.2f} dB became "
        f"{candidate.goal_db:.2f} dB. What comments say of the sound may be of the network before."
    )
    return f"{' '.join(str(older).split())} {ours}" if older else ours


def write(offers: Sequence[Offered]) -> list[Path]:
    """Write every offer beside the design; a file that appeared meanwhile is never written over."""
    written: list[Path] = []
    for offer in offers:
        path = offer.path if not offer.path.exists() else free_path(offer.design, tuple(written))
        offer.design.save(path)
        written.append(path)
    return written


def as_plain_data(
    voiced: Voiced, offers: Offers, written: Sequence[Path], seconds: float
) -> dict[str, object]:
    """Give the numbers of a voicing as JSON has them."""
    goal = voiced.wish.goal
    best = offers.after[0] if offers.after else offers.before
    return {
        "format": "forehear-voicing/1",
        "design": voiced.design.title,
        "goal_before": voiced.goal_before_db,
        "goal_after": voiced.goal_after_db,
        "parts": best.candidate.parts,
        "written": [str(path) for path in written],
        "evaluations": voiced.evaluations,
        "seconds": seconds,
        "stopped_by": voiced.stopped_by,
        "weights": vars(goal.weights),
        "limits": vars(goal.limits),
        "in_room_slope_db_per_octave": goal.slope_db_per_octave,
        "before": _plain_offer(offers.before),
        "short_list": [_plain_offer(offer) for offer in offers.after],
        "suggestions": [{"doing": one.doing, "gained": one.gained_db} for one in voiced.suggestions],
    }


def _plain_offer(offer: Offered) -> dict[str, object]:
    return {
        "goal": offer.candidate.goal_db,
        "price": offer.candidate.price,
        "parts": offer.candidate.parts,
        "made": [
            {
                "name": name,
                "made": make_words(part.component),
                "tolerance": tolerance_of(part.component),
                "price": part.component.price,
            }
            for name, part in zip(offer.candidate.layout.names, offer.candidate.layout.parts, strict=True)
        ],
        "yield": plain_yield(offer.builds),
        "stress": plain_stress(offer.stress),
    }


def plain_yield(found: Yield) -> dict[str, object]:
    """Give the numbers of a yield as JSON has them."""
    return {
        "builds": found.draw.builds,
        "within_db": found.draw.within_db,
        "parts_drawn": "normal" if found.draw.normal else "uniform",
        "one_batch": found.draw.one_batch,
        "good": found.good,
        "good_interval": [found.low, found.high],
        "most_of_95_percent_db": found.most_db,
        "level_rms_db": float(((found.level_db - found.level_db.mean()) ** 2).mean() ** 0.5),
        "spoilers": [vars(one) for one in found.spoilers],
    }


def plain_stress(found: Stress) -> dict[str, object]:
    """Give the numbers of a stress as JSON has them."""
    return {
        "voltage_v": found.voltage_v,
        "first": found.first,
        "first_v": found.first_v if found.first_v != float("inf") else None,
        "load": vars(found.load),
        "parts": [
            {name: value for name, value in vars(one).items() if name != "component"} for one in found.parts
        ],
        "drivers": [vars(one) for one in found.drivers],
    }
