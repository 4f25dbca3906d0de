"""From the design document to what the physics rooms take; the only place that knows both."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from forehear.box import (
    BlockedImpedance,
    Closed,
    DriverConstants,
    Enclosure,
    Vented,
    enclosure_response,
)
from forehear.design import (
    Brief,
    ClosedBox,
    Design,
    NetworkElement,
    NetworkPart,
    PartChain,
    Placement,
    VentedBox,
    Way,
    boards_of,
)
from forehear.design import Reflector as PlacedReflector
from forehear.ground.air import Air
from forehear.ground.arrays import ComplexArray
from forehear.ground.axes import FrequencyGrid
from forehear.ground.errors import DesignError, OutsideValidity
from forehear.ground.flowing import DriverImpedance, SourceMotion
from forehear.ground.minimum_phase import minimum_phase_rad
from forehear.ground.store import KeptResults, content_key
from forehear.judge import noise_levels_db
from forehear.network import (
    Bank,
    Branch,
    Capacitor,
    Chain,
    Coil,
    Element,
    Kind,
    Resistor,
    Step,
    Wiring,
    brooks_coil,
)
from forehear.parts import CapacitorPart, CoilPart, ComponentPart, DriverPart
from forehear.radiation import Diaphragm, Front
from forehear.room import Patch, Shoebox, calibrated
from forehear.spine.hearing import Ear
from forehear.spine.pose import Pose, Reflector
from forehear.spine.refining import Moving, Shape
from forehear.spine.speaker import SAME_DIGITS, Speaker
from forehear.spine.speech import Programme
from forehear.spine.strength import strength

MOTION_ENDS_RE_RESONANCE = (3.0, 6.0)  # between these the measured impedance takes over from the constants
FURNISHED_SCATTERING = np.array([0.0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.3])  # a lived-in room, estimated
QUIET_ROOM_DB_A = 30.0  # of noise, where the brief says nothing; common practice, no source
_strengths: KeptResults[ComplexArray] = KeptResults()
_motions: KeptResults[tuple[SourceMotion, DriverImpedance]] = KeptResults()


@dataclass(frozen=True, eq=False)
class Scene:
    """Where the speaker stands and who listens."""

    shoebox: Shoebox
    poses: tuple[Pose, ...]
    ears: tuple[Ear, ...]


def scene_of(design: Design) -> Scene:
    """Take the room, the placements of the design itself, and the seats.

    Raises
    ------
    DesignError
        When the surfaces cannot give the decay time that the brief states.
    """
    brief = design.brief
    return Scene(
        shoebox=_shoebox_of(brief),
        poses=tuple(pose_of(design, place) for place in design.own_placements),
        ears=tuple(Ear(seat.name, seat.position_m) for seat in brief.seats),
    )


def pose_of(design: Design, place: Placement) -> Pose:
    """Take how a design stands at a placement, and what reflects near it."""
    return Pose(
        place.name,
        place.position_m,
        place.turn_rad,
        place.tilt_rad,
        tuple(map(_reflector, (*design.brief.reflectors, *boards_of(design, place)))),
    )


def _shoebox_of(brief: Brief) -> Shoebox:
    scattering = FURNISHED_SCATTERING if brief.room.scattering is None else np.array(brief.room.scattering)
    shoebox = Shoebox(brief.room.size_m, brief.absorption, scattering)
    if brief.room.decay_time_s is None:
        return shoebox
    try:
        return calibrated(shoebox, np.array(brief.room.decay_time_s), brief.air)
    except OutsideValidity as error:
        where = brief.document.where(("room", "decay time"))
        raise DesignError(error.what, where=where, cure=error.cure) from error


def _reflector(found: PlacedReflector) -> Reflector:
    normal = np.array(found.normal)
    across = np.array([-normal[1], normal[0], 0.0]) if normal[2] == 0 else np.array([0.0, 1.0, 0.0])
    kept = np.sqrt(1 - np.array(found.absorption))
    patch = Patch(np.array(found.middle_m), normal, across, found.width_m, found.height_m, kept)
    return Reflector(found.name, patch)


def programme_of(brief: Brief) -> Programme:
    """Take what is played and what is heard besides."""
    asked = brief.programme
    told = QUIET_ROOM_DB_A if asked.noise_level_db is None else asked.noise_level_db
    noise_db = told if isinstance(told, tuple) else tuple(noise_levels_db(told).tolist())
    return Programme(asked.speech_level_db_a, noise_db, asked.other_speakers_db)


def speaker_of(design: Design, grid: FrequencyGrid) -> Speaker:
    """Take shapes, motions and branches of a design."""
    air = design.brief.air
    reference_y, reference_z = design.reference_centre_m
    cabinet = design.cabinet
    ways = [_way_motion(design, way, grid, air) for way in design.ways]
    motion, impedance = _side_by_side(ways, grid)
    ports = [
        Diaphragm(
            centre_m=(
                way.enclosure.port_centre_m[0] - reference_y,
                way.enclosure.port_centre_m[1] - reference_z,
            ),
            radius_m=way.enclosure.port_radius_m,
            area_m2=float(np.pi * way.enclosure.port_radius_m**2),
        )
        for way in design.ways
        if isinstance(way.enclosure, VentedBox)
    ]
    diaphragms = [
        Diaphragm(
            centre_m=(driver.centre_m[0] - reference_y, driver.centre_m[1] - reference_z),
            radius_m=driver.part.diaphragm_radius_m,
            area_m2=driver.part.constants.sd_m2,
            dome_height_m=driver.part.dome_height_m,
            set_back_m=driver.set_back_m,
        )
        for driver in (design.driver[name] for name in motion.drivers)
    ]
    return Speaker(
        air=air,
        grid=grid,
        front=Front.rectangle(
            cabinet.width_m, cabinet.height_m, cabinet.depth_m, centre_m=(-reference_y, -reference_z)
        ),
        middle_m=(-reference_y, -reference_z),
        drivers=motion.drivers,
        sources=motion.sources,
        diaphragms=tuple(diaphragms + ports),
        motion=motion,
        impedance=impedance,
        branches=tuple(branch_of(way) for way in design.ways),
    )


def shape_of(design: Design, speaker: Speaker) -> Shape:
    """Take what the reference solver is given: the outside of the cabinet and everything that moves in it.

    Neither the network nor the reference point changes it.
    """
    cabinet = design.cabinet
    moving = tuple(
        Moving(
            (
                round(shape.centre_m[0] - speaker.middle_m[0], SAME_DIGITS),
                round(shape.centre_m[1] - speaker.middle_m[1], SAME_DIGITS),
            ),
            round(shape.radius_m, SAME_DIGITS),
        )
        for shape in speaker.diaphragms
    )
    size_m = cabinet.width_m, cabinet.height_m, cabinet.depth_m
    return Shape(size_m, cabinet.edge_radius_m, moving, speaker.air)


def branch_of(way: Way) -> Branch:
    """Take the network of one way."""
    return Branch(
        name=way.name,
        drivers=way.drivers,
        steps=tuple(
            Step(Kind(step.kind), element)
            for step in way.network
            if (element := _element(step.element)) is not None
        ),
        wiring=Wiring(way.wired),
        reversed=way.reversed,
    )


def _element(element: NetworkElement) -> Element | None:
    """Take one element; None when all of it is bypassed: in series a wire, across the branch nothing."""
    if isinstance(element, NetworkPart):
        return None if element.component.bypassed else _component(element.component)
    inner = tuple(part for part in map(_element, element.elements) if part is not None)
    if not inner:
        return None
    return Chain(inner) if isinstance(element, PartChain) else Bank(inner)


def _component(part: ComponentPart) -> Element:
    if isinstance(part, CoilPart):
        return Coil(part.inductance_h, coil_dcr_ohm(part))
    if isinstance(part, CapacitorPart):
        return Capacitor(part.capacitance_f, part.esr_ohm)
    return Resistor(part.resistance_ohm)


def coil_dcr_ohm(part: CoilPart) -> float:
    """Resistance of a coil: as stated, or of a Brooks coil wound of its wire, or none."""
    if part.dcr_ohm is not None:
        return part.dcr_ohm
    return brooks_coil(part.inductance_h, part.wire_m).dcr_ohm if part.wire_m else 0.0


def _way_motion(
    design: Design, way: Way, grid: FrequencyGrid, air: Air
) -> tuple[SourceMotion, DriverImpedance]:
    """Motion and impedance of the drivers of one way; the same air and drivers are never solved twice."""
    parts = [design.driver[name].part for name in way.drivers]
    data = [(part.document.text(), part.response, part.impedance) for part in parts]
    key = content_key(data, way.name, way.drivers, way.enclosure, grid, air)
    return _motions.get(key, lambda: _find_way_motion(parts, way, grid, air))


def _find_way_motion(
    parts: Sequence[DriverPart], way: Way, grid: FrequencyGrid, air: Air
) -> tuple[SourceMotion, DriverImpedance]:
    """Solve the air behind one way, and work in what the measured responses of its drivers say."""
    motion, impedance = enclosure_response(
        [constants_of(part, grid) for part in parts],
        way.drivers,
        enclosure_of(way.enclosure),
        grid,
        air,
        way=way.name,
    )
    velocity = np.array(motion.velocity_m_s_v)
    for source, part in enumerate(
        parts
    ):  # ports, which come after the drivers, have no response of their own
        velocity[source] *= _strength_of(part, grid, air)
    return SourceMotion(grid, motion.sources, motion.drivers, velocity), impedance


def enclosure_of(box: ClosedBox | VentedBox | None) -> Enclosure | None:
    """Take the air behind a way; None where every driver is sealed by itself."""
    if isinstance(box, ClosedBox):
        return Closed(box.volume_m3)
    if isinstance(box, VentedBox):
        return Vented(box.volume_m3, box.tuned_hz, float(np.pi * box.port_radius_m**2), box.ql)
    return None


def _side_by_side(
    ways: Sequence[tuple[SourceMotion, DriverImpedance]], grid: FrequencyGrid
) -> tuple[SourceMotion, DriverImpedance]:
    """Join ways that share no air; all diaphragms first, then the ports."""
    drivers = tuple(name for motion, _ in ways for name in motion.drivers)
    ports = tuple(name for motion, _ in ways for name in motion.sources[len(motion.drivers) :])
    velocity = np.zeros((len(drivers) + len(ports), len(drivers), len(grid)), dtype=complex)
    impedance = np.zeros((len(drivers), len(drivers), len(grid)), dtype=complex)
    sources = drivers + ports
    for motion, own in ways:
        rows = [sources.index(name) for name in motion.sources]
        columns = [drivers.index(name) for name in motion.drivers]
        velocity[np.ix_(rows, columns)] = motion.velocity_m_s_v
        impedance[np.ix_(columns, columns)] = own.impedance_ohm
    return SourceMotion(grid, sources, drivers, velocity), DriverImpedance(grid, drivers, impedance)


def constants_of(part: DriverPart, grid: FrequencyGrid) -> DriverConstants:
    """Take a driver's constants, its blocked impedance measured where there is a measurement."""
    try:
        return DriverConstants.from_mechanical(part.constants, _blocked(part, grid))
    except OutsideValidity as error:
        place = part.where("impedance", "file") if part.impedance else part.where("voice coil")
        raise DesignError(error.what, where=place, cure=error.cure) from error


def _blocked(part: DriverPart, grid: FrequencyGrid) -> BlockedImpedance:
    re_ohm, coil = part.constants.re_ohm, part.voice_coil
    if part.impedance is not None:
        return _blocked_from_measurement(part, grid)
    if coil.k is not None and coil.n is not None:
        return BlockedImpedance.leach(re_ohm, coil.k, coil.n, grid)
    if coil.l2_h is not None and coil.r2_ohm is not None:
        return BlockedImpedance.two_inductances(re_ohm, coil.le_h, coil.l2_h, coil.r2_ohm, grid)
    return BlockedImpedance.plain(re_ohm, coil.le_h, grid)


def _blocked_from_measurement(part: DriverPart, grid: FrequencyGrid) -> BlockedImpedance:
    """Measured impedance less the motion that the constants predict; near resonance plain Re.

    Near the resonance the difference of two large numbers says nothing, and the coil adds little there.
    """
    curve = part.impedance
    assert curve is not None
    frequency_hz = grid.frequency_hz
    held_hz = np.clip(frequency_hz, curve.frequency_hz[0], curve.frequency_hz[-1])
    magnitude = np.exp(np.interp(np.log(held_hz), np.log(curve.frequency_hz), np.log(curve.value)))
    if curve.phase_deg is not None:
        phase_rad = np.interp(np.log(held_hz), np.log(curve.frequency_hz), np.radians(curve.phase_deg))
    else:
        phase_rad = minimum_phase_rad(
            frequency_hz,
            20 * np.log10(magnitude),
            slope_below_db_per_octave=0.0,
            slope_above_db_per_octave=3.0,
        )
    constants = part.constants
    jw = 2j * np.pi * frequency_hz
    mechanical = jw * constants.mms_kg + constants.rms_kg_s + 1 / (jw * constants.cms_m_n)
    blocked = magnitude * np.exp(1j * phase_rad) - constants.bl_n_a**2 / mechanical
    low_hz, high_hz = (factor * part.small_signal.fs_hz for factor in MOTION_ENDS_RE_RESONANCE)
    share = np.clip(np.log(frequency_hz / low_hz) / np.log(high_hz / low_hz), 0.0, 1.0)
    return BlockedImpedance(grid, constants.re_ohm * (1 - share) + blocked * share)


def _strength_of(part: DriverPart, grid: FrequencyGrid, air: Air) -> ComplexArray:
    if part.response is None:
        return np.ones(len(grid), dtype=complex)
    response = part.response
    key = content_key(part.document.text(), response, part.impedance, grid, air)
    return _strengths.get(key, lambda: _find_strength(part, grid, air))


def _find_strength(part: DriverPart, grid: FrequencyGrid, air: Air) -> ComplexArray:
    response = part.response
    assert response is not None
    box = Closed(response.closed_m3) if response.closed_m3 else None
    motion, impedance = enclosure_response([constants_of(part, grid)], [part.name], box, grid, air)
    resonance_hz = float(grid.frequency_hz[np.abs(impedance.impedance_ohm[0, 0]).argmax()]) if box else None
    diaphragm = Diaphragm((0.0, 0.0), part.diaphragm_radius_m, part.constants.sd_m2, part.dome_height_m)
    return strength(
        response,
        diaphragm,
        motion.velocity_m_s_v[0, 0],
        resonance_hz or part.small_signal.fs_hz,
        grid,
        air,
    )
