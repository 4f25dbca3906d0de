"""Documents: every value keeps its place, edits keep every other byte, and nothing gets past the reader."""

from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from forehear.ground.errors import Complaints, DataError, DesignError
from forehear.ground.reading.documents import Change, Document
from forehear.ground.reading.nodes import resolve_plain

TWIN = """\
# twin.yaml
design: Twin                                    # two woofers in a row
cabinet: {width: 488 mm, height: 200 mm}
ways:
  low:
    drivers: [left, right]
    network:
      - series: {coil: 1.2 mH, wire: 1.0 mm}    # the big one
      - shunt: [{capacitor: 15 uF}, {resistor: 3.9 ohm}]
    # a closing remark
  high:
    network:
      - series: {capacitor: 5.6 uF}
notes: |
  two lines
  of text
"""

# No digits and dots: the writer here follows YAML 1.1, which calls fewer bare words numbers than YAML 1.2.
words = st.text("abcdfgh XYZ-,:#'\"[]{}&*!%@\u00e4\u03a9", min_size=1, max_size=12)
scalars = st.none() | st.booleans() | st.integers(-1000, 1000) | st.floats(-1e6, 1e6) | words
values = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(words, inner, max_size=4),
    max_leaves=20,
)
trees = st.dictionaries(words, values, min_size=1, max_size=5)


def twin() -> Document:
    return Document.from_text(TWIN, Path("twin.yaml"))


def dumped(tree: dict[str, Any], style: bool | None) -> str:  # noqa: FBT001 (the writer's own argument)
    """Write by another library; `style` is block, flow or mixed."""
    text: str = yaml.safe_dump(
        tree, default_flow_style=style, width=10_000, allow_unicode=True, sort_keys=False
    )
    return text


styles = st.sampled_from([True, False, None])


@pytest.mark.parametrize(
    ("keys", "place"),
    [
        (("design",), "twin.yaml:2:1  design"),
        (("cabinet", "height"), "twin.yaml:3:26  cabinet > height"),
        (("ways", "low", "network"), "twin.yaml:7:5  ways > low > network"),
        (("ways", "low", "network", 0), "twin.yaml:8:9  ways > low > network > 1"),
        (("ways", "low", "network", 1, "shunt", 1), "twin.yaml:9:37  ways > low > network > 2 > shunt > 2"),
        (("ways", "low", "polarity"), "twin.yaml:5:3  ways > low > polarity"),  # the place above it
    ],
)  # fmt: skip
def test_every_value_has_a_place(keys: tuple[str | int, ...], place: str) -> None:
    assert twin().where(keys) == place


@given(trees, styles)
def test_what_another_library_writes_is_read_the_same(tree: dict[str, Any], style: bool | None) -> None:  # noqa: FBT001
    assert repr(Document.from_text(dumped(tree, style), Path("x.yaml")).plain()) == repr(
        tree
    )  # PyYAML wrote it


# YAML 1.2.2, section 10.3.2, the table of the core schema (from memory): plain scalars and what they are.
@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("null", None), ("~", None), ("", None), ("true", True), ("False", False), ("0", 0), ("-19", -19),
        ("0.", 0.0), (".5", 0.5), ("+12e03", 12000.0), ("-2E+05", -2e5), (".inf", float("inf")),
        ("yes", "yes"),
        ("on", "on"), ("1:30", "1:30"), ("2026-11-24", "2026-11-24"), ("1_000", "1_000"), ("8 ohm", "8 ohm"),
    ],
)  # fmt: skip
def test_plain_scalars_follow_the_core_schema(text: str, value: object) -> None:
    found = resolve_plain(text)
    assert found == value
    assert type(found) is type(value)


@pytest.mark.parametrize(
    ("path", "text", "before", "after"),
    [
        (("ways", "low", "network", 0, "series", "coil"), "1.5 mH", "coil: 1.2 mH", "coil: 1.5 mH"),
        (("ways", "low", "network", 1, "shunt", 0), "{coil: 2 mH}", "[{capacitor: 15 uF}", "[{coil: 2 mH}"),
        (("ways", "low", "polarity"), "reversed", "ohm}]\n", "ohm}]\n    polarity: reversed\n"),
        (("cabinet", "depth"), "250 mm", "height: 200 mm}", "height: 200 mm, depth: 250 mm}"),
        (
            ("placements", "left", "turn"),
            "14 deg",
            "of text\n",
            "of text\nplacements: {left: {turn: 14 deg}}\n",
        ),
        (("design",), '"a: b"', "design: Twin", 'design: "a: b"'),
    ],
)
def test_an_edit_leaves_every_other_byte_alone(
    path: tuple[str | int, ...], text: str, before: str, after: str
) -> None:
    assert TWIN.count(before) == 1
    assert twin().with_changes([Change(path, text)]).text() == TWIN.replace(before, after)


@given(trees, styles, st.data())
def test_an_edit_changes_one_value_or_is_refused(
    tree: dict[str, Any],
    style: bool | None,  # noqa: FBT001
    data: st.DataObject,
) -> None:
    document = Document.from_text(dumped(tree, style), Path("x.yaml"))
    path, here = [], document.plain()
    while isinstance(here, dict | list) and here and (not path or data.draw(st.booleans())):
        key = data.draw(st.sampled_from(list(here) if isinstance(here, dict) else list(range(len(here)))))
        path.append(key)
        here = here[key]
    if data.draw(st.booleans()) and (here is None or isinstance(here, dict)):
        path.append(data.draw(words))
    new = data.draw(words | st.just("4.7 uF") | st.just("[1 mm, 2 mm]"))
    try:
        changed = document.with_changes([Change(tuple(path), new)])
    except (DesignError, Complaints):
        return
    expected = document.plain()
    _set(expected, path, yaml.safe_load(f"v: {new}\n")["v"])  # PyYAML says what the new text means
    assert repr(changed.plain()) == repr(expected)


def _set(tree: Any, path: list[Any], value: Any) -> None:  # noqa: ANN401 (any tree)
    for depth, key in enumerate(path[:-1]):
        if tree[key] is None and depth == len(path) - 2:
            tree[key] = {}
        tree = tree[key]
    tree[path[-1]] = value


def test_keys_given_twice_are_all_told() -> None:
    with pytest.raises(Complaints) as caught:
        Document.from_text("a: 1\nb: {c: 1, c: 2}\na: 3\n", Path("x.yaml"))
    assert [error.where for error in caught.value.errors] == ["x.yaml:2:11", "x.yaml:3:1"]
    assert "first in line 1" in caught.value.errors[1].what


BOMB = "a: &a [x, x]\n" + "".join(
    f"{chr(98 + n)}: &{chr(98 + n)} [{', '.join(['*' + chr(97 + n)] * 9)}]\n" for n in range(20)
)


@pytest.mark.parametrize(
    ("text", "words", "place"),
    [
        (BOMB, "aliases", "x.yaml:1:4"),
        ("a: !!python/name:os.system x", "tag", "x.yaml:1:4"),
        ("a: [1, 2", "valid YAML", "x.yaml:1:"),
        ("a: 1\n\tb: 2", "valid YAML", "x.yaml:2:"),
        ("a: b: c", "second ':'", "x.yaml:1:5"),
        ("a: 1\n---\nb: 2", "second document", "x.yaml:2:1"),
        ("", "empty", "x.yaml:1:1"),
        ("# only this", "empty", "x.yaml:1:1"),
        ("- a\n- b", "key: value", "x.yaml:1:1"),
        ("[" * 5000, "far more", "x.yaml:1:"),
        ("a: " + "{b: " * 5000, "far more", "x.yaml:1:"),
        ("a: [" + "1, " * 60_000 + "]", "far more", "x.yaml:1:"),
        ("{[a]: 1}", "plain name", "x.yaml:1:2"),
    ],
)
def test_what_cannot_be_a_design_is_one_message_with_its_place(text: str, words: str, place: str) -> None:
    with pytest.raises(DesignError) as caught:
        Document.from_text(text, Path("x.yaml"))
    assert words in caught.value.what
    assert caught.value.where.startswith(place)
    assert caught.value.cure


def test_unreadable_files_are_named(tmp_path: Path) -> None:
    (tmp_path / "latin.yaml").write_bytes("design: ok\ntitle: gr\xf6n\n".encode("latin-1"))
    (tmp_path / "binary.yaml").write_bytes(b"design: \x00\x01")
    (tmp_path / "big.yaml").write_bytes(b"a: b\n" * 2_000_000)
    told = {}
    for name in ("latin.yaml", "binary.yaml", "big.yaml", "none.yaml", "."):
        with pytest.raises(DesignError) as caught:
            Document.read(tmp_path / name, name)
        told[name] = caught.value
        assert caught.value.cure
    assert told["latin.yaml"].where == "latin.yaml:2:10"
    assert told["binary.yaml"].where == "binary.yaml:1:9"
    assert "10.0 MB" in told["big.yaml"].what
    assert "no file" in told["none.yaml"].what
    assert "folder" in told["."].what


def test_saving_is_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "twin.yaml"
    document = Document.from_text(TWIN, path)
    document.save()
    assert path.read_text() == TWIN
    assert list(tmp_path.iterdir()) == [path]
    with pytest.raises(DataError):
        document.save(tmp_path / "no folder" / "twin.yaml")
    assert Document.read(path).plain() == document.plain()
