"""``forehear listen --results``: a closed session told in the terminal, as a page and as data; an open one is not."""

import json
from pathlib import Path

import pytest

from forehear.app.cli import main
from forehear.listen.session import Session, begin, close
from forehear.listen.session_file import as_text
from rooms.sessions import NAMES, abx, by_candidate, press_abx, press_rating, rating


def written(at: Path, session: Session) -> str:
    path = at / "session.json"
    path.write_text(as_text(session), encoding="utf-8")
    return str(path)


def abx_of_eight() -> Session:
    session = begin(abx(8), "an evening", "2026-01-02", 4)
    for _ in range(8):
        session = press_abx(session, 0, right=True)
    return session


def test_a_closed_session_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = written(tmp_path, close(abx_of_eight()))
    outputs = ["--report", str(tmp_path / "page.html"), "--json", str(tmp_path / "data.json")]
    assert main(["listen", "--results", path, *outputs]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "a difference was heard" in told
    assert "8 of 8 answers are right" in told
    assert "p 0.004" in told  # 1/256
    assert "<svg" in (tmp_path / "page.html").read_text(encoding="utf-8")
    numbers = json.loads((tmp_path / "data.json").read_text(encoding="utf-8"))
    assert numbers["format"] == "forehear-listening-result/1"
    assert numbers["numbers"]["p"] == 1 / 256


def test_ratings_are_told_with_their_table(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    session = begin(rating(3, 8), "an evening", "2026-01-02", 4)
    for listener in range(8):
        session = press_rating(session, listener, by_candidate((60.0, 50.0, 40.0), 5.0))
    assert main(["listen", "--results", written(tmp_path, close(session))]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert all(name in told for name in NAMES[:3])
    assert "63.5 53.5 43.5" in told


def test_an_open_session_tells_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["listen", "--results", written(tmp_path, abx_of_eight())]) == 2
    captured = capsys.readouterr()
    assert "not closed" in captured.err
    assert not any(name in captured.out + captured.err for name in NAMES)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["listen"], "no design is named"),
        (["listen", "x.yaml", "--report", "y.html"], "belong to --results"),
        (["listen", "--results", "none.json"], "cannot read"),
    ],
)
def test_what_cannot_be_told_says_why(
    arguments: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    assert words in capsys.readouterr().err


def test_the_session_is_never_overwritten_by_its_result(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = written(tmp_path, close(abx_of_eight()))
    before = Path(path).read_text(encoding="utf-8")
    assert main(["listen", "--results", path, "--json", path]) == 2
    assert "would be lost" in capsys.readouterr().err
    assert Path(path).read_text(encoding="utf-8") == before
