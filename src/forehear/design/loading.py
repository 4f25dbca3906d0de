"""From files to a Design: everything read, everything held against everything, all complaints at once."""

from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path

import numpy as np

from forehear.design.brief_file import BriefFile, GoalsFile
from forehear.design.candidate_file import CandidateFile, EnclosureFile, WayFile
from forehear.design.design import (
    SURFACES,
    Brief,
    Cabinet,
    ClosedBox,
    Design,
    Goals,
    NetworkStep,
    PlacedDriver,
    Placement,
    Seat,
    VentedBox,
    Way,
    network_parts,
)
from forehear.design.geometry import complain_about_front, complain_about_room
from forehear.design.names import complain_about_names
from forehear.design.network_tree import read_network
from forehear.design.placing import placements_of_brief, resolve_placements
from forehear.ground.air import Air
from forehear.ground.errors import DesignError
from forehear.ground.reading.documents import Document, raise_together
from forehear.ground.reading.naming import named_file
from forehear.ground.reading.nodes import Plain
from forehear.ground.reading.quantities import write_quantity
from forehear.ground.reading.sections import Gathered, validate
from forehear.parts import CoilPart, DriverPart, load_driver


def load(path: str | Path) -> Design:
    """Read a design with its brief and parts.

    Raises
    ------
    DesignError, DataError, Complaints
        Everything that makes the design unusable, each with its place and a cure.
    """
    return _build(Document.read(Path(path)), None, {})


def load_brief(path: str | Path) -> Brief:
    """Read a brief by itself."""
    return _brief_from(Document.read(Path(path)))


def _rebuild(
    design: Design, document: Document, brief_document: Document, parts: Sequence[DriverPart]
) -> Design:
    """Build again from changed documents; parts already read are not read again."""
    known = [*(driver.part for driver in design.drivers), *parts]
    kept = {part.document.path.absolute(): part for part in known}
    brief = design.brief if brief_document is design.brief.document else _brief_from(brief_document)
    return _build(document, brief, kept)


def _build(document: Document, brief: Brief | None, kept: dict[Path, DriverPart]) -> Design:
    gathered = Gathered()
    plain = document.plain()
    file = gathered.attempt(lambda: validate(CandidateFile, plain, document))
    brief = gathered.attempt(lambda: _brief(plain, document, brief))
    parts = _parts(plain, document, kept, gathered)
    networks = _networks(plain, document, gathered)
    if file is None or brief is None:
        raise_together(gathered.errors)
        raise AssertionError("a reader failed without a complaint")
    complain_about_names(file, document, gathered)
    placements = resolve_placements(file.placements, document, brief, gathered)
    raise_together(gathered.errors)
    design = _assemble(document, file, brief, parts, networks, placements)
    complain_about_front(design, gathered)
    complain_about_room(design, gathered)
    raise_together(gathered.errors)
    return design


def _assemble(
    document: Document,
    file: CandidateFile,
    brief: Brief,
    parts: dict[str, DriverPart],
    networks: dict[str, tuple[NetworkStep, ...]],
    placements: tuple[Placement, ...],
) -> Design:
    drivers = tuple(
        PlacedDriver(name, parts[name], placed.centre, placed.set_back, placed.set_back_uncertainty)
        for name, placed in file.drivers.items()
    )
    smallest = min(drivers, key=lambda driver: driver.part.constants.sd_m2)
    ways = tuple(_way(name, way, networks[name]) for name, way in file.ways.items())
    estimated = [words for driver in drivers for words in driver.part.estimated]
    estimated += [words for way in ways for words in _estimated_coils(way)]
    size = file.cabinet
    return Design(
        title=file.design,
        path=document.path,
        document=document,
        brief=brief,
        cabinet=Cabinet(size.width, size.height, size.depth, size.edge_radius, size.wall),
        drivers=drivers,
        ways=ways,
        placements=placements,
        reference=file.reference or smallest.name,
        rated_impedance_ohm=file.rated_impedance,
        estimated=tuple(dict.fromkeys(estimated)),
        rebuild=_rebuild,
    )


def _estimated_coils(way: Way) -> Iterator[str]:
    coils = [part.component for step in way.network for part in network_parts(step.element)]
    for coil in coils:
        if isinstance(coil, CoilPart) and coil.dcr_ohm is None:
            known = "from its wire, wound as compactly as can be" if coil.wire_m else "taken as zero"
            yield f"{way.name}: DCR of the coil of {write_quantity(coil.inductance_h, 'mH')} {known}"


def _way(name: str, file: WayFile, network: tuple[NetworkStep, ...]) -> Way:
    return Way(
        name,
        tuple(file.drivers),
        file.wired,
        _enclosure(file.enclosure),
        file.polarity == "reversed",
        network,
    )


def _enclosure(file: EnclosureFile | None) -> ClosedBox | VentedBox | None:
    if file is None:
        return None
    if file.vented is not None:
        vented = file.vented
        return VentedBox(
            vented.volume, vented.tuned_to, vented.port_diameter / 2, vented.port_centre, vented.ql
        )
    return None if file.closed is None else ClosedBox(file.closed)


def _brief(plain: Plain, document: Document, kept: Brief | None) -> Brief:
    name = plain.get("brief")
    if not isinstance(name, str) or not name.strip():
        raise DesignError(
            "the design names no brief", where=document.where(("brief",)), cure="add 'brief: brief.yaml'"
        )
    path, label = named_file(document, name, ("brief",))
    if kept is not None and kept.path.absolute() == path:
        return kept
    return _brief_from(Document.read(path, label))


def _brief_from(document: Document) -> Brief:
    file = validate(BriefFile, document.plain(), document)
    gathered = Gathered()
    _complain_about_goals(file, document, gathered)
    placements = placements_of_brief(file, document, gathered)
    raise_together(gathered.errors)
    surfaces = file.surfaces.model_dump(by_alias=True)
    printer = file.printer
    return Brief(
        title=file.title,
        path=document.path,
        document=document,
        room_m=(file.room.length, file.room.width, file.room.height),
        air=Air(temperature_c=file.room.temperature),
        absorption=np.array([surfaces[name] for name in SURFACES]),
        seats=tuple(Seat(name, (*seat.position, seat.ear_height)) for name, seat in file.seats.items()),
        placements=placements,
        goals=_goals(file.goals),
        currency=file.currency or "",
        printer_m=(printer.width, printer.depth, printer.height) if printer else None,
    )


def _complain_about_goals(file: BriefFile, document: Document, gathered: Gathered) -> None:
    for number, name in enumerate(file.goals.main_seats or []):
        if name not in file.seats:
            gathered.add(
                f"there is no seat {name!r}",
                document.where(("goals", "main seats", number)),
                f"name one of {', '.join(file.seats)}",
            )


def _goals(file: GoalsFile) -> Goals:
    size = file.largest_size
    return Goals(
        main_seats=tuple(file.main_seats or ()),
        lowest_impedance_ohm=file.lowest_impedance,
        budget=file.budget,
        largest_size_m=(size.width, size.height, size.depth) if size else (None, None, None),
        speech_level_db=file.speech_level,
        in_room_slope_db_per_octave=file.in_room_slope,
    )


def _parts(
    plain: Plain, document: Document, kept: dict[Path, DriverPart], gathered: Gathered
) -> dict[str, DriverPart]:
    """Read the part of every driver that names one; a file named twice is read once."""
    drivers = plain.get("drivers")
    found: dict[str, DriverPart] = {}
    read: dict[Path, DriverPart | None] = {}
    for name, placed in drivers.items() if isinstance(drivers, dict) else ():
        part_name = placed.get("part") if isinstance(placed, dict) else None
        if not isinstance(part_name, str):
            continue  # the model complains
        place = gathered.attempt(partial(named_file, document, part_name, ("drivers", name, "part")))
        if place is None:
            continue
        path, label = place
        if path not in read:
            read[path] = kept.get(path) or gathered.attempt(partial(load_driver, path, label))
        part = read[path]
        if part is not None:
            found[name] = part
    return found


def _networks(plain: Plain, document: Document, gathered: Gathered) -> dict[str, tuple[NetworkStep, ...]]:
    ways = plain.get("ways")
    return {
        name: read_network(way.get("network"), document, ("ways", name, "network"), gathered)
        for name, way in (ways.items() if isinstance(ways, dict) else ())
        if isinstance(way, dict)
    }
