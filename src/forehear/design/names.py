"""Names that point at each other inside a design: ways at drivers, the reference at a driver."""

import difflib

from forehear.design.candidate_file import CandidateFile, WayFile
from forehear.ground.reading.documents import Document
from forehear.ground.reading.sections import Gathered


def complain_about_names(file: CandidateFile, document: Document, gathered: Gathered) -> None:
    """Complain about unknown, shared and unused drivers, and about enclosures that are two things at once."""
    used: dict[str, str] = {}
    for name, way in file.ways.items():
        _enclosure(name, way, document, gathered)
        for number, driver in enumerate(way.drivers):
            where = document.where(("ways", name, "drivers", number))
            if driver not in file.drivers:
                gathered.add(f"there is no driver {driver!r}", where, _meant(driver, list(file.drivers)))
            elif driver in used:
                other = "this way" if used[driver] == name else f"the way {used[driver]!r}"
                gathered.add(
                    f"the driver {driver!r} is already in {other}", where, "name each driver in one way, once"
                )
            used[driver] = name
    for driver in file.drivers:
        if driver not in used:
            gathered.add(
                f"no way uses the driver {driver!r}",
                document.where(("drivers", driver)),
                "name it in a way, or delete it",
            )
    if file.reference is not None and file.reference not in file.drivers:
        gathered.add(
            f"there is no driver {file.reference!r}",
            document.where(("reference",)),
            _meant(file.reference, list(file.drivers)),
        )


def _enclosure(name: str, way: WayFile, document: Document, gathered: Gathered) -> None:
    enclosure = way.enclosure
    if enclosure is not None and (enclosure.closed is None) == (enclosure.vented is None):
        gathered.add(
            "an enclosure is either closed or vented",
            document.where(("ways", name, "enclosure")),
            "write {closed: 14 l} or {vented: {...}}, or leave it out when the driver is sealed by itself",
        )


def _meant(name: str, known: list[str]) -> str:
    near = difflib.get_close_matches(name, known, n=1, cutoff=0.6)
    return f"did you mean {near[0]!r}?" if near else f"name one of {', '.join(known)}"
