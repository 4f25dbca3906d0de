"""The rule for tests: each can fail, and none is put aside."""

import ast
import re
from collections.abc import Iterator

from habits.house import Function

JUDGES = re.compile(r"assert|raises|check|expect|warns|verify|fail")
PUT_ASIDE = re.compile(r"mark\.(skip|xfail)|unittest\.skip|importorskip")


def complaints(tree: ast.Module) -> Iterator[str]:
    """Yield every test that cannot fail and every mark that puts one aside."""
    helpers = _helpers_that_judge(tree)
    for node in ast.walk(tree):
        if isinstance(node, Function) and node.name.startswith("test_") and not _can_fail(node, helpers):
            yield f"line {node.lineno}: {node.name} asserts nothing"
        if isinstance(node, ast.Attribute | ast.Name) and PUT_ASIDE.search(ast.unparse(node)):
            yield f"line {node.lineno}: {ast.unparse(node)} puts a test aside"


def _helpers_that_judge(tree: ast.Module) -> frozenset[str]:
    """Name the functions of a file that assert, or call one that does."""
    functions = [node for node in ast.walk(tree) if isinstance(node, Function)]
    found: frozenset[str] = frozenset()
    while True:
        more = frozenset(node.name for node in functions if _can_fail(node, found))
        if more == found:
            return found
        found = more


def _can_fail(function: Function, helpers: frozenset[str]) -> bool:
    calls = [ast.unparse(node.func) for node in ast.walk(function) if isinstance(node, ast.Call)]
    asserts = any(isinstance(node, ast.Assert) for node in ast.walk(function))
    return asserts or any(JUDGES.search(call) or call in helpers for call in calls)
