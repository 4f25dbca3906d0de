"""What each command does, with its exit status."""

import argparse
import io
import json
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from forehear.app import terminal
from forehear.app.ahead import working_ahead
from forehear.design import Design, check_design, load, write_starter
from forehear.ground.errors import Complaints, DesignError, ForehearError
from forehear.ground.files import write_atomically
from forehear.ground.findings import Finding, Level
from forehear.ground.work import part_of
from forehear.publish import write_report
from forehear.spine import SolverChoice, compare, one_solver, predict
from forehear.spine.compare import Comparison
from forehear.spine.export import as_plain_data, comparison_as_plain_data

FINE, STOPS, UNUSABLE = 0, 1, 2  # exit statuses


def run(options: argparse.Namespace) -> int:
    """Run the command that was asked for; bad input ends in clear words, never in a traceback."""
    handlers: dict[str, Callable[[argparse.Namespace], int]] = {
        "new": _new,
        "check": _check,
        "predict": _predict,
        "compare": _compare,
        "listen": _listen,
        "desk": _desk,
        "voice": _voice,
    }
    try:
        return handlers[options.command](options)
    except Complaints as complaints:
        terminal.show_errors(complaints.errors)
    except ForehearError as error:
        terminal.show_errors([error])
    except KeyboardInterrupt:
        if options.command == "desk":
            return FINE  # that is how a desk is closed
        terminal.err.print("stopped; nothing was written (what the reference solver has done is kept)")
    return UNUSABLE


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
    _writable(options)
    design = load(options.design)
    _spared(options, [design])
    with terminal.progress_bar() as progress:
        room = options.room or options.report is not None
        prediction = predict(design, progress=progress, room=room, solver=SolverChoice(options.solver))
    terminal.show_prediction(prediction)
    terminal.show_rules(prediction.rules)
    if options.json:
        _write_json(options.json, as_plain_data(prediction))
    if options.report:
        _write_report(options.report, compare([prediction]))
    if options.impulses:
        _write_impulses(options.impulses, design, SolverChoice(options.solver))
    return _status(prediction.findings)


def _compare(options: argparse.Namespace) -> int:
    _writable(options)
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
        _write_json(options.json, comparison_as_plain_data(comparison))
    if options.report:
        _write_report(options.report, comparison)
    return _status(finding for prediction in predictions for finding in prediction.findings)


def _voice(options: argparse.Namespace) -> int:
    from forehear.app.voicing import voice  # loaded for this command alone

    _writable(options)
    _spared(options, [load(options.design)])
    data = voice(options)
    if options.json:
        _write_json(options.json, data)
    return FINE


def _listen(options: argparse.Namespace) -> int:
    if options.results:
        return _results(options)
    if not options.designs or options.report or options.json:
        raise DesignError(
            "no design is named" if not options.designs else "--report and --json belong to --results",
            cure="name design files, or a closed session by --results",
        )
    from forehear.app.listening import listen  # sound files and head data: loaded for this command alone

    return listen(options)


def _results(options: argparse.Namespace) -> int:
    """Tell what a closed listening session says."""
    from forehear.app.listened import show_results  # what reads sound: loaded for this command alone
    from forehear.listen.analysis import analyse
    from forehear.listen.session_file import read_session
    from forehear.publish.listened import results_data, results_page

    _writable(options)
    session = read_session(options.results)
    if options.results.resolve() in {path.resolve() for path in _outputs(options)}:
        raise DesignError(
            f"{options.results} is the session and would be lost", cure="name another file for the result"
        )
    found = analyse(session)
    show_results(session, found)
    if options.json:
        _write_json(options.json, results_data(found))
    if options.report:
        write_atomically(options.report, results_page(session))
        terminal.out.print(f"report   {options.report}", soft_wrap=True)
    return FINE


def _desk(options: argparse.Namespace) -> int:
    from forehear.app.desk.run import serve  # a web server: loaded for this command alone

    serve(options.folder, options.port, opens=not options.no_open)
    return FINE


def _status(findings: Iterable[Finding]) -> int:
    return STOPS if any(finding.level is Level.STOPS for finding in findings) else FINE


def _writable(options: argparse.Namespace) -> None:
    """Refuse an output that cannot be written before any work is done."""
    impulses: Path | None = getattr(options, "impulses", None)
    if impulses is not None and not impulses.is_dir():
        raise DesignError(
            f"cannot write into {impulses}: there is no such folder",
            where=str(impulses),
            cure="name a folder that exists",
        )
    outputs = _outputs(options)
    for path in outputs:
        reason = _unwritable(path)
        if reason:
            raise DesignError(
                f"cannot write {path}: {reason}", where=str(path), cure="name a file in a folder that exists"
            )
    if len({path.resolve() for path in outputs}) < len(outputs):
        raise DesignError(
            f"--json and --report both name {outputs[0]}", where=str(outputs[0]), cure="name two files"
        )


def _unwritable(path: Path) -> str:
    try:
        if path.is_dir():
            return "it is a folder"
        return "" if path.parent.is_dir() else "its folder does not exist"
    except OSError as error:
        return error.strerror or "its name cannot be used"


def _spared(options: argparse.Namespace, designs: Sequence[Design]) -> None:
    """Refuse to write a result over what somebody wrote by hand."""
    written_by_hand = {document.path.resolve() for design in designs for document in design.documents}
    for path in _outputs(options):
        if path.resolve() in written_by_hand:
            raise DesignError(
                f"{path} is part of the design and would be lost",
                where=str(path),
                cure="name another file for the result",
            )


def _outputs(options: argparse.Namespace) -> list[Path]:
    return [path for path in (options.json, getattr(options, "report", None)) if path is not None]


def _write_json(path: Path, data: dict[str, object]) -> None:
    write_atomically(path, json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n")
    terminal.out.print(f"numbers  {path}", soft_wrap=True)


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
