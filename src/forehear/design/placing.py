"""Where the speakers stand: the brief's placements, as a design changes them."""

from dataclasses import replace
from functools import partial
from pathlib import Path

from forehear.design.brief import Brief, Placement, Standing
from forehear.design.brief_file import BriefFile, PlacementChange
from forehear.design.standing_file import StandingFile, standing_of
from forehear.ground.errors import DesignError
from forehear.ground.reading.documents import Document
from forehear.ground.reading.naming import named_file
from forehear.ground.reading.sections import Gathered


def placements_of_brief(file: BriefFile, document: Document, gathered: Gathered) -> tuple[Placement, ...]:
    """Return the placements as the brief has them."""
    found = []
    for name, placed in file.placements.items():
        keys = ("placements", name, "design")
        other = gathered.attempt(partial(_design_path, placed.design, document, keys))
        where = document.where(("placements", name))
        standing = _standing(placed.standing, document, name)
        found.append(Placement(name, placed.position, placed.turn, placed.tilt, other, where, standing))
    return tuple(found)


def resolve_placements(
    changes: dict[str, PlacementChange], document: Document, brief: Brief, gathered: Gathered
) -> tuple[Placement, ...]:
    """Return the placements in force for the design in `document`."""
    merged = {placement.name: placement for placement in brief.placements}
    for name, change in changes.items():
        changed = gathered.attempt(partial(_changed, merged.get(name), name, change, document))
        if changed is not None:
            merged[name] = changed
    own = document.path.absolute()
    placements = tuple(
        replace(placement, design_path=None) if placement.design_path == own else placement
        for placement in merged.values()
    )
    if not any(placement.design_path is None for placement in placements) and not gathered.errors:
        gathered.add(
            "this design stands nowhere in the room",
            document.where(("placements",)),
            "add a placement without 'design' to the brief, or 'placements' to this design",
        )
    return placements


def _changed(before: Placement | None, name: str, change: PlacementChange, document: Document) -> Placement:
    keys = ("placements", name)
    where = document.where(keys)
    if before is None:
        if change.position is None:
            raise DesignError(
                f"the brief has no placement {name!r}, and this one has no position",
                where=where,
                cure="add position: [x, y, z], or use a name from the brief",
            )
        before = Placement(name, change.position, 0.0, 0.0, None, where)
    other = _design_path(change.design, document, (*keys, "design")) or before.design_path
    return Placement(
        name=name,
        position_m=change.position or before.position_m,
        turn_rad=before.turn_rad if change.turn is None else change.turn,
        tilt_rad=before.tilt_rad if change.tilt is None else change.tilt,
        design_path=other,
        where=where,
        standing=before.standing if change.standing is None else _standing(change.standing, document, name),
    )


def _design_path(name: str | None, document: Document, keys: tuple[str, ...]) -> Path | None:
    return None if name is None else named_file(document, name, keys)[0]


def _standing(file: StandingFile, document: Document, name: str) -> Standing:
    return replace(standing_of(file), where=document.where(("placements", name, "standing")))
