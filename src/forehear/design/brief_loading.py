"""From a brief's file to a Brief: read, held against itself, all complaints at once."""

from collections.abc import Iterator

import numpy as np

from forehear.design.brief import (
    NORMAL_SPEECH_DB_A,
    SURFACES,
    Brief,
    Goals,
    Programme,
    Reflector,
    Room,
    Seat,
    Uncertainty,
    Voicing,
)
from forehear.design.brief_file import FACES, BriefFile, GoalsFile
from forehear.design.octaves import eight_octaves
from forehear.design.placing import placements_of_brief
from forehear.design.surfaces import Surface
from forehear.ground.air import Air
from forehear.ground.reading.documents import Document, raise_together
from forehear.ground.reading.naming import named_file
from forehear.ground.reading.sections import Gathered, validate
from forehear.parts import Stock, load_stock


def brief_from(document: Document) -> Brief:
    """Return the brief that a document describes.

    Raises
    ------
    DesignError, Complaints
        Everything that makes it unusable, each with its place and a cure.
    """
    file = validate(BriefFile, document.plain(), document)
    gathered = Gathered()
    _complain_about_goals(file, document, gathered)
    _complain_about_speech(file, document, gathered)
    placements = placements_of_brief(file, document, gathered)
    stock = _stock(file, document, gathered)
    raise_together(gathered.errors)
    room, printer, uncertain = file.room, file.printer, file.uncertainty
    surfaces: dict[str, Surface] = {name: getattr(file.surfaces, name.replace(" ", "_")) for name in SURFACES}
    reflectors = _reflectors(file, document)
    return Brief(
        title=file.title,
        path=document.path,
        document=document,
        room=Room(
            (room.length, room.width, room.height),
            None if room.decay_time is None else eight_octaves(room.decay_time),
            None if room.scattering is None else eight_octaves(room.scattering),
        ),
        air=Air(room.temperature, room.pressure, room.humidity),
        absorption=np.array([surfaces[name].absorption for name in SURFACES]),
        seats=tuple(Seat(name, (*seat.position, seat.ear_height)) for name, seat in file.seats.items()),
        placements=placements,
        reflectors=reflectors,
        programme=_programme(file),
        uncertainty=Uncertainty(
            uncertain.acoustic_depth, uncertain.driver_spread, uncertain.absorption, uncertain.position
        ),
        goals=_goals(file.goals, stock),
        currency=file.currency or "",
        printer_m=(printer.width, printer.depth, printer.height) if printer else None,
        estimated=tuple(_estimated(file, surfaces)),
    )


def _reflectors(file: BriefFile, document: Document) -> tuple[Reflector, ...]:
    return tuple(
        Reflector(
            name,
            told.middle,
            FACES[told.faces],
            told.width,
            told.height,
            told.absorption.absorption,
            document.where(("reflectors", name)),
            told.held_by,
        )
        for name, told in file.reflectors.items()
    )


def _programme(file: BriefFile) -> Programme:
    told, older_db = file.programme, file.goals.speech_level
    speech_db = next((level for level in (told.speech_level, older_db) if level is not None), None)
    noise = told.background_noise
    return Programme(
        NORMAL_SPEECH_DB_A if speech_db is None else speech_db,
        noise,
        told.other_speakers,
    )


def _estimated(file: BriefFile, surfaces: dict[str, Surface]) -> Iterator[str]:
    told = {**surfaces, **{name: reflector.absorption for name, reflector in file.reflectors.items()}}
    for name, surface in told.items():
        if surface.made_of is not None:
            yield f"{name}: absorption of {surface.made_of} ({surface.source})"


def _complain_about_speech(file: BriefFile, document: Document, gathered: Gathered) -> None:
    older_db, level_db = file.goals.speech_level, file.programme.speech_level
    if None not in (older_db, level_db) and older_db != level_db:
        gathered.add(
            f"the goals say a speech level of {older_db:g} dB, the programme says {level_db:g} dB",
            document.where(("goals", "speech level")),
            "keep the one under programme",
        )


def _stock(file: BriefFile, document: Document, gathered: Gathered) -> Stock | None:
    name, keys = file.goals.voicing.stock, ("goals", "voicing", "stock")
    if name is None:
        return None
    return gathered.attempt(lambda: load_stock(*named_file(document, name, keys)))


def _complain_about_goals(file: BriefFile, document: Document, gathered: Gathered) -> None:
    for number, name in enumerate(file.goals.main_seats or []):
        if name not in file.seats:
            gathered.add(
                f"there is no seat {name!r}",
                document.where(("goals", "main seats", number)),
                f"name one of {', '.join(file.seats)}",
            )


def _goals(file: GoalsFile, stock: Stock | None) -> Goals:
    size, wanted = file.largest_size, file.voicing
    return Goals(
        main_seats=tuple(file.main_seats or ()),
        lowest_impedance_ohm=file.lowest_impedance,
        budget=file.budget,
        largest_size_m=(size.width, size.height, size.depth) if size else (None, None, None),
        in_room_slope_db_per_octave=file.in_room_slope,
        voicing=Voicing(
            seats=wanted.seats,
            on_axis=wanted.on_axis,
            listening_window=wanted.listening_window,
            speech_coverage=wanted.speech_coverage,
            covered_rad=wanted.covered,
            lowest_level_db=wanted.lowest_level,
            most_parts=None if wanted.most_parts is None else int(wanted.most_parts),
            most_cost=wanted.most_cost,
            voltage_v=wanted.voltage,
            values=wanted.values,
            stock=stock,
            pairs=wanted.pairs,
            largest_film_f=wanted.largest_film,
        ),
    )
