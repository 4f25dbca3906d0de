"""One design solved: the physics of it, driven by its network and judged at every seat."""

from dataclasses import dataclass, replace

import numpy as np

from forehear.design import Design
from forehear.ground.axes import FrequencyGrid
from forehear.ground.errors import DesignError, OutsideValidity, SurfaceError
from forehear.ground.work import Progress, unseen
from forehear.judge import EarSmoothing
from forehear.judge.words import frequency_words
from forehear.network import NetworkSolution, solve_network
from forehear.spine.hearing import (
    Hearing,
    SeatSound,
    direct_sound_at_seats,
    judge_direct,
    judge_seat,
    sound_at_seats,
)
from forehear.spine.prediction import DirectResult, DriverResult, SeatResult
from forehear.spine.refined import Reach, Refined
from forehear.spine.refining import finished, named, refine
from forehear.spine.reverberation import Reverberation
from forehear.spine.speaker import Speaker
from forehear.spine.translate import Scene, scene_of, shape_of, speaker_of

LEAST_IMPEDANCE_OHM = 0.1  # under this an amplifier sees a short
REFERENCE_PEAK_V = 4.0  # peak of 2.83 V rms


@dataclass(frozen=True, eq=False)
class Setting:
    """A design translated and its network driven; nobody hears it yet."""

    design: Design
    hearing: Hearing
    speaker: Speaker
    scene: Scene
    network: NetworkSolution

    @property
    def smoothing(self) -> EarSmoothing:
        """The ear's smoothing of whole bands."""
        return self.hearing.ear

    @property
    def grid(self) -> FrequencyGrid:
        """Bands of everything."""
        return self.speaker.grid


@dataclass(frozen=True, eq=False)
class Situation(Setting):
    """Everything that causes, cures and findings start from."""

    sounds: tuple[SeatSound, ...]
    seats: tuple[SeatResult, ...]


def solve_situation(design: Design, hearing: Hearing) -> Situation:
    """Solve one design and judge every seat.

    Raises
    ------
    DesignError
        When the network shorts the amplifier.
    """
    return heard(begin(design, hearing))


def begin(design: Design, hearing: Hearing) -> Setting:
    """Translate a design and drive its network; a reference solution that is known of its shape is used.

    Raises
    ------
    DesignError
        When the network shorts the amplifier.
    """
    speaker = speaker_of(design, hearing.grid)
    if hearing.reach is not None:
        speaker = replace(speaker, refined=finished(shape_of(design, speaker), hearing.reach))
    return Setting(design, hearing, speaker, scene_of(design), drive(design, speaker))


def refine_design(design: Design, reach: Reach, progress: Progress = unseen) -> Refined:
    """Solve the shape of a design by the reference solver; from then on whatever is heard of it uses that.

    Whoever stops it by raising keeps the bands that are done.

    Raises
    ------
    SurfaceError, TooLittleMemory
        The shape cannot be meshed, or needs more memory than there is.
    """
    speaker = speaker_of(design, FrequencyGrid.standard())
    try:
        return refine(shape_of(design, speaker), reach, progress)
    except SurfaceError as error:
        raise named(error, speaker.sources, design.where("drivers")) from error


def is_refined(design: Design, reach: Reach) -> bool:
    """Tell whether the reference solution of a design's shape is known."""
    speaker = speaker_of(design, FrequencyGrid.standard())
    return finished(shape_of(design, speaker), reach) is not None


def heard(setting: Setting) -> Situation:
    """Judge every seat."""
    speaker, scene, voltage = setting.speaker, setting.scene, setting.network.voltage
    sounds = tuple(
        sound
        for pose in scene.poses
        for sound in sound_at_seats(
            Reverberation(speaker, pose, scene.shoebox, setting.hearing.carrying), scene.ears
        )
    )
    slope = setting.design.brief.goals.in_room_slope_db_per_octave
    seats = tuple(judge_seat(sound, voltage, setting.hearing, slope) for sound in sounds)
    return Situation(**vars(setting), sounds=sounds, seats=seats)


def heard_directly(setting: Setting) -> tuple[DirectResult, ...]:
    """Judge what reaches every seat straight, and nothing of the room, as a moving hand needs it."""
    speaker, scene = setting.speaker, setting.scene
    return tuple(
        judge_direct(sound, setting.network.voltage, setting.hearing)
        for pose in scene.poses
        for sound in direct_sound_at_seats(speaker, pose, scene.ears)
    )


def drive(design: Design, speaker: Speaker) -> NetworkSolution:
    """Solve the network, and refuse one that no amplifier drives."""
    try:
        network = solve_network(speaker.branches, speaker.impedance)
    except OutsideValidity as error:
        raise DesignError(error.what, where=design.where("ways"), cure=error.cure) from error
    magnitude = np.abs(network.impedance_ohm)
    lowest = int(magnitude.argmin())
    if magnitude[lowest] < LEAST_IMPEDANCE_OHM:
        branch = min(
            network.branches, key=lambda name: abs(network.branches[name].input_impedance_ohm[lowest])
        )
        raise DesignError(
            f"the network shorts the amplifier: {magnitude[lowest]:.2g} ohm at "
            f"{frequency_words(float(speaker.grid.frequency_hz[lowest]))}, "
            f"at least {LEAST_IMPEDANCE_OHM} ohm is needed",
            where=design.where("ways", branch, "network"),
            cure="put a series part before the shunt part that is met first",
        )
    return network


def sound_of(situation: Situation, seat: SeatResult) -> SeatSound:
    """Return what arrives at a judged seat."""
    return next(
        sound
        for sound in situation.sounds
        if (sound.pose.placement, sound.ear.name) == (seat.placement, seat.name)
    )


def driver_results(situation: Situation) -> tuple[DriverResult, ...]:
    """Voltage and excursion of every driver."""
    speaker, volts = situation.speaker, situation.network.voltage.volts_v
    way_of = {name: branch.name for branch in speaker.branches for name in branch.drivers}
    velocity = speaker.source_velocity(situation.network.voltage)
    omega = 2 * np.pi * situation.grid.frequency_hz
    return tuple(
        DriverResult(
            name=name,
            way=way_of[name],
            volts_v=volts[index],
            excursion_m=REFERENCE_PEAK_V * np.abs(velocity[index]) / omega,
        )
        for index, name in enumerate(speaker.drivers)
    )
