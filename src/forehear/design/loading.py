"""From files to a Design: everything read, everything held against everything, all complaints at once."""

from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path

from forehear.design.boards import complain_about_standing
from forehear.design.brief import Brief, Placement
from forehear.design.brief_loading import brief_from
from forehear.design.candidate_file import CandidateFile, EnclosureFile, WayFile
from forehear.design.crowding import complain_about_crowding
from forehear.design.design import (
    Cabinet,
    ClosedBox,
    Design,
    NetworkStep,
    PlacedDriver,
    VentedBox,
    Way,
    network_parts,
)
from forehear.design.geometry import complain_about_front, complain_about_room
from forehear.design.names import complain_about_names
from forehear.design.network_tree import read_network
from forehear.design.placing import resolve_placements
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
    return brief_from(Document.read(Path(path)))


def _rebuild(
    design: Design, document: Document, brief_document: Document, parts: Sequence[DriverPart]
) -> Design:
    """Build again from changed documents; parts already read are not read again."""
    known = [*(driver.part for driver in design.drivers), *parts]
    kept = {part.document.path.absolute(): part for part in known}
    brief = design.brief if brief_document is design.brief.document else brief_from(brief_document)
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
    complain_about_standing(design, gathered)
    complain_about_crowding(design, gathered)
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
    estimated = list(brief.estimated)
    estimated += [words for driver in drivers for words in driver.part.estimated]
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
    return brief_from(Document.read(path, label))


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
