"""The rule for docstrings of physics: units for every number, a known source for every formula."""

import ast
import re

from habits.house import Function, arguments

NUMBERS = re.compile(r"\b(float|FloatArray|ComplexArray|NDArray|complex)\b")
UNIT = re.compile(r"\[[^\]\n]+\]")
FORMULA = ".. math::"
UNSOURCED = ("own definition", "own derivation", "no source")  # said aloud instead of a key


def sections(docstring: str) -> dict[str, str]:
    """Split a docstring (numpydoc layout) into its underlined sections."""
    parts = re.split(r"^(\w[\w ]*)\n-{3,}\n", docstring, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def entries(section: str) -> dict[str, str]:
    """Split a Parameters section into the text of each parameter; several names may share one entry."""
    split = re.split(r"^(\*{0,2}\w+(?:, \w+)*)(?= ?:|\n {2,}|\n?\Z)", section, flags=re.MULTILINE)
    told = zip(split[1::2], split[2::2], strict=True)
    return {name.strip(" *"): text for names, text in told for name in names.split(",")}


def complaints(node: Function, known: frozenset[str], *, physics: bool = True) -> list[str]:
    """Say what the docstring of a public function lacks.

    A docstring with a formula or a Source needs units and a known source; in a room of physics so does one
    with a Parameters section. A small helper may say it all in one line and in the names of its arguments.
    """
    docstring = ast.get_docstring(node)
    if docstring is None:
        return ["has no docstring"]
    parts = sections(docstring)
    bound = FORMULA in docstring or "Source" in parts or (physics and "Parameters" in parts)
    if not bound:
        return []
    return _units(node, parts) + _source(parts, known)


def _units(node: Function, parts: dict[str, str]) -> list[str]:
    found = []
    told = entries(parts.get("Parameters", ""))
    for argument in arguments(node):
        kind = "" if argument.annotation is None else ast.unparse(argument.annotation)
        if argument.arg not in told and told:
            found.append(f"does not describe {argument.arg}")
        elif argument.arg in told and NUMBERS.search(kind) and not UNIT.search(told[argument.arg]):
            found.append(f"gives no [unit] for {argument.arg}")
    returned = "" if node.returns is None else ast.unparse(node.returns)
    if "Parameters" in parts and NUMBERS.search(returned) and not UNIT.search(parts.get("Returns", "")):
        found.append("gives no [unit] for what it returns")
    return found


def _source(parts: dict[str, str], known: frozenset[str]) -> list[str]:
    source = parts.get("Source", "").strip()
    if not source:
        return ["has no Source section"]
    keys = re.findall(r"[a-z][a-z0-9]*(?:-[a-z0-9]+)+", source)
    if any(key in known for key in keys) or any(words in source.lower() for words in UNSOURCED):
        return []
    return [f"names no source of sources.toml: {source.splitlines()[0]!r}"]
