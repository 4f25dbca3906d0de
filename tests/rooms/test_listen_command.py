"""`forehear listen` as a user meets it: sounds written with a table, and bad input refused before any work."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from forehear.app.cli import main
from forehear.listen import CAUTION, settings_in
from rooms.attic import copied
from rooms.test_listen_head import sofa

FINE, UNUSABLE = 0, 2


@pytest.fixture
def attic(tmp_path: Path) -> Path:
    return copied(tmp_path / "attic")


def refused(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> str:
    capsys.readouterr()
    assert main(["listen", *(str(argument) for argument in arguments)]) == UNUSABLE
    told = capsys.readouterr()
    assert told.out == ""
    assert "Traceback" not in told.err
    assert "  cure   " in told.err
    return told.err


def test_a_folder_is_heard_from_a_seat(attic: Path, capsys: pytest.CaptureFixture[str]) -> None:
    head = sofa(attic / "ball.sofa")
    status = main(["listen", str(attic), "--seat", "armchair", "--clip", "percussion", "--head", str(head)])
    told = capsys.readouterr().out
    assert status == FINE
    written = sorted((attic / "out").iterdir())
    assert [path.name for path in written] == [
        f"{name}, armchair, percussion.wav" for name in ("stack", "trio", "twin")
    ]
    for path in written:
        assert soundfile.info(path).frames == soundfile.info(written[0]).frames
        settings = settings_in(path)
        assert settings is not None
        assert settings["design"] == f"{path.name.split(',')[0]}.yaml"
        assert "a ball" in str(settings["head"])
        assert f"sound    {path}" in told
    assert CAUTION in told
    assert told.count("LUFS") == 3
    assert "modelled" in told
    assert "left out" in told
    assert (
        main(["listen", str(attic / "twin.yaml"), "--seat", "armchair", "--clip", "percussion"]) == FINE
    )  # again


def test_levels_are_kept_when_asked(attic: Path, capsys: pytest.CaptureFixture[str]) -> None:
    designs = [str(attic / f"{name}.yaml") for name in ("twin", "stack")]
    assert main(["listen", *designs, "--seat", "armchair", "--clip", "tones", "--keep-level"]) == FINE
    assert capsys.readouterr().out.count("+0.0 dB") == 2
    levels = []
    for path in sorted((attic / "out").iterdir()):
        sound, _ = soundfile.read(path)
        levels.append(20 * np.log10(np.sqrt(np.mean(sound**2))))
    assert abs(levels[0] - levels[1]) > 1.0


def test_somebody_elses_file_is_never_lost(attic: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (attic / "out").mkdir()
    theirs = attic / "out" / "twin, armchair, tones.wav"
    soundfile.write(theirs, np.zeros((10, 2)), 48_000)
    before = theirs.read_bytes()
    said = refused(capsys, attic, "--seat", "armchair", "--clip", "tones")
    assert "was not written by forehear and would be lost" in said
    assert [path.name for path in (attic / "out").iterdir()] == [theirs.name]
    assert theirs.read_bytes() == before


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--seat", "sofa"], "no seat called 'sofa'"),
        (["--clip", "music"], "neither a file nor a bundled clip"),
        (["--clip", "brief.yaml"], "no sound that can be read"),
        (["--head", "brief.yaml"], "not HDF5"),
        (["--head", "none.sofa"], "no such file"),
        (["--out", "none/there"], "no such folder"),
        (["--out", "brief.yaml"], "no such folder"),
    ],
    ids=lambda value: value if isinstance(value, str) else " ".join(value),
)
def test_bad_input_is_refused_before_any_work(
    attic: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    options: list[str],
    said: str,
) -> None:
    monkeypatch.chdir(attic)
    assert said in refused(capsys, "twin.yaml", *options)
    assert not (attic / "out").exists()


def test_designs_of_two_briefs_are_not_compared(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, other = copied(tmp_path / "one"), copied(tmp_path / "other")
    assert "2 different briefs" in refused(capsys, one / "twin.yaml", other / "stack.yaml")
    assert "files of the same name" in refused(capsys, one / "twin.yaml", other / "twin.yaml")
