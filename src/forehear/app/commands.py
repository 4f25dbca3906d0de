"""What each command does, with its exit status."""

import argparse
import io
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from forehear.app import terminal
from forehear.app.ahead import working_ahead
from forehear.app.outcome import in_words, outputs_of, writable, write_json
from forehear.app.statuses import FINE, STOPS
from forehear.design import Design, check_design, load, write_starter
from forehear.ground.errors import DesignError
from forehear.ground.files import write_atomically
from forehear.ground.findings import Finding, Level
from forehear.ground.work import part_of
from forehear.publish import write_report
from forehear.spine import SolverChoice, compare, one_solver, predict
from forehear.spine.compare import Comparison
from forehear.spine.export import as_plain_data, comparison_as_plain_data


def run(options: argparse.Namespace) -> int:
    """Run the command that was asked for."""
    handlers: dict[str, Callable[[argparse.Namespace], int]] = {
        "new": _new,
        "check": _check,
        "predict": _predict,
        "compare": _compare,
        "listen": _listen,
        "desk": _desk,
        "voice": _voice,
    }
    return in_words(handlers[options.command], options)


def _new(options: argparse.Namespace) -> int:
    written = write_starter(options.folder)
    for path in written:
        terminal.out.print(f"wrote {path}", soft_wrap=True)
    design = next(path for path in written if path.parent == options.folder and path.name != "brief.yaml")
    terminal.out.print(f"next   forehear predict {design}", soft_wrap=True)
    return FINE


def _check(options: argparse.Namespace) -> int:
    design = load(options.design)
    findings = check_design(design)
    terminal.out.print(f"{design.title}: the files read well and agree with each other")
    terminal.show_findings(findings)
    return _status(findings)


def _predict(options: argparse.Namespace) -> int:
    writable(options)
    design = load(options.design)
    _spared(options, [design])
    with terminal.progress_bar() as progress:
        room = options.room or options.report is not None
        prediction = predict(design, progress=progress, room=room, solver=SolverChoice(options.solver))
    terminal.show_prediction(prediction)
    terminal.show_rules(prediction.rules)
    if options.json:
        write_json(options.json, as_plain_data(prediction))
    if options.report:
        _write_report(options.report, compare([prediction]))
    if options.impulses:
        _write_impulses(options.impulses, design, SolverChoice(options.solver))
    return _status(prediction.findings)


def _compare(options: argparse.Namespace) -> int:
    writable(options)
    designs = [load(path) for path in options.designs]
    _spared(options, designs)
    briefs = {design.brief.path.resolve() for design in designs}
    if len(briefs) > 1:
        raise DesignError(
            f"these designs follow {len(briefs)} different briefs: {', '.join(sorted(map(str, briefs)))}",
            where=", ".join(str(path) for path in options.designs),
            cure="compare designs that name the same brief",
        )
    solver, predictions = one_solver(designs, SolverChoice(options.solver)), []
    room = options.report is not None
    with working_ahead(designs, solver, room=room), terminal.progress_bar() as progress:
        for index, design in enumerate(designs):
            stretch = part_of(progress, index / len(designs), (index + 1) / len(designs))
            predictions.append(predict(design, progress=stretch, room=room, solver=solver))
    comparison = compare(predictions)
    for prediction in predictions:
        terminal.show_prediction(prediction)
        terminal.out.print()
    terminal.show_comparison(comparison)
    if options.json:
        write_json(options.json, comparison_as_plain_data(comparison))
    if options.report:
        _write_report(options.report, comparison)
    return _status(finding for prediction in predictions for finding in prediction.findings)


def _voice(options: argparse.Namespace) -> int:
    from forehear.app.voicing import voice  # loaded for this command alone

    writable(options)
    _spared(options, [load(options.design)])
    data = voice(options)
    if options.json:
        write_json(options.json, data)
    return FINE


def _listen(options: argparse.Namespace) -> int:
    if not options.designs or options.report or options.json:
        raise DesignError(
            "no design is named" if not options.designs else "--report and --json belong to --results",
            cure="name design files, or a closed session by --results",
        )
    from forehear.app.listening import listen  # sound files and head data: loaded for this command alone

    return listen(options)


def _desk(options: argparse.Namespace) -> int:
    from forehear.app.desk.run import serve  # a web server: loaded for this command alone

    serve(options.folder, options.port, opens=not options.no_open)
    return FINE


def _status(findings: Iterable[Finding]) -> int:
    return STOPS if any(finding.level is Level.STOPS for finding in findings) else FINE


def _spared(options: argparse.Namespace, designs: Sequence[Design]) -> None:
    """Refuse to write a result over what somebody wrote by hand."""
    written_by_hand = {document.path.resolve() for design in designs for document in design.documents}
    for path in outputs_of(options):
        if path.resolve() in written_by_hand:
            raise DesignError(
                f"{path} is part of the design and would be lost",
                where=str(path),
                cure="name another file for the result",
            )


def _write_impulses(folder: Path, design: Design, solver: SolverChoice) -> None:
    """Write one sound file a placement and seat: 32-bit floats, one second at 48 kHz."""
    from scipy.io import wavfile  # loaded for this option alone

    from forehear.spine.impulse import SAMPLE_RATE_HZ, impulse_responses

    for (placement, seat), response in impulse_responses(
        design, instant=solver is SolverChoice.INSTANT
    ).items():
        path = folder / f"{design.path.stem}, {placement}, {seat}.wav".replace("/", "-")
        written = io.BytesIO()
        wavfile.write(written, SAMPLE_RATE_HZ, response.astype("float32"))
        write_atomically(path, written.getvalue())
        terminal.out.print(f"impulse  {path}", soft_wrap=True)


def _write_report(path: Path, comparison: Comparison) -> None:
    write_report(comparison, path)
    terminal.out.print(f"report   {path}", soft_wrap=True)
