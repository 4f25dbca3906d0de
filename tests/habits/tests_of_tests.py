"""The rule for tests: each can fail, and none is put aside."""

import ast
import re
from collections.abc import Iterator

from habits.house import Function

JUDGES = re.compile(r"assert|raises|check|expect|warns|verify|fail")
PUT_ASIDE = re.compile(r"mark\.(skip|xfail)|unittest\.skip|importorskip")


def complaints(tree: ast.Module) -> Iterator[str]:
    """Yield every test that cannot fail and every mark that puts one aside."""
    for node in ast.walk(tree):
        if isinstance(node, Function) and node.name.startswith("test_") and not _can_fail(node):
            yield f"line {node.lineno}: {node.name} asserts nothing"
        if isinstance(node, ast.Attribute | ast.Name) and PUT_ASIDE.search(ast.unparse(node)):
            yield f"line {node.lineno}: {ast.unparse(node)} puts a test aside"


def _can_fail(test: Function) -> bool:
    calls = (ast.unparse(node.func) for node in ast.walk(test) if isinstance(node, ast.Call))
    return any(isinstance(node, ast.Assert) for node in ast.walk(test)) or any(
        JUDGES.search(call) for call in calls
    )
