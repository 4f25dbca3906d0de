"""No file of the house holds a download address, a path of a machine or of a folder beside it."""

import re
from pathlib import Path

import pytest

from habits.house import TOP, files_of_the_house, short

# Names that look like addresses: a loopback address is nobody's, and XML tells its vocabularies apart so.
NAMES = re.compile(
    "http:"
    + r"//(?:(?:127\.0\.0\.1|localhost)\b|www\.w3\.org/(?:2000/svg|1999/xlink|1999/xhtml|1998/Math/MathML)\b)"
)
# Licences print addresses inside their own texts, which may not be changed.
ALLOWED = {"LICENSE", "web/public/licences.txt", "src/forehear/app/static/licences.txt"}
WRONG = {
    "an address": re.compile("(?:https?|ftp|git|ssh):" + "//|git" + "@"),
    "a path of a machine": re.compile(
        "(?<![\\w.])/(?:ho" + "me|ro" + "ot|Us" + "ers|wo" + "rk|o" + "pt|m" + "nt)/\\w|[A-Z]:\\\\Us" + "ers"
    ),
    "a folder beside the house": re.compile(r"\.\./sha" + "red"),
}


def _complaints(text: str) -> list[str]:
    rest = NAMES.sub("", text)
    return [
        f"line {rest.count(chr(10), 0, found.start()) + 1} holds {what}"
        for what, rule in WRONG.items()
        for found in rule.finditer(rest)
    ]


FILES = [path for path in files_of_the_house() if path.suffix not in {".png", ".woff2", ".npz", ".flac"}]


@pytest.mark.parametrize("path", FILES, ids=short)
def test_no_address_and_no_machine(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    if short(path) not in ALLOWED:
        assert not _complaints(text), f"{short(path)}: {_complaints(text)}"


def test_the_exception_is_needed() -> None:
    assert all(_complaints((TOP / name).read_text(encoding="utf-8")) for name in ALLOWED)


@pytest.mark.parametrize(
    "bad",
    [
        "see https:" + "//example.org",
        "git" + "@example.org:x",
        "/ro" + "ot/x",
        "open('/ho" + "me/me/x')",
        "../sha" + "red/x",
        "C:" + "\\Us" + "ers",
    ],
)
def test_a_bad_line_is_found(bad: str) -> None:
    assert _complaints(f"first\n{bad}\n")[0].startswith("line 2 ")


@pytest.mark.parametrize(
    "good", ["http:" + "//127.0.0.1:8000/", 'xmlns="http:' + '//www.w3.org/2000/svg"', "sub/home/x", "and/or"]
)
def test_a_good_line_passes(good: str) -> None:
    assert _complaints(good) == []
