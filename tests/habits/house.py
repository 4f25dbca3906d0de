"""What the habit tests look at: the files of the house and, through their syntax trees, what they hold."""

import ast
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

TOP = Path(__file__).parents[2]
SOURCE = TOP / "src" / "forehear"
TESTS = TOP / "tests"
PHYSICS = ("radiation", "box", "network", "room", "judge")

Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True)
class Item:
    """A public function, method or class and the words that lead to it."""

    name: str
    node: Function | ast.ClassDef


def rooms() -> list[str]:
    """Every room of the house, by its folder."""
    return sorted(folder.parent.name for folder in SOURCE.glob("*/__init__.py"))


def python_files(*folders: Path) -> list[Path]:
    """Every Python file under the folders."""
    return sorted(path for folder in folders for path in folder.rglob("*.py"))


def files_of_the_house() -> list[Path]:
    """Every file that is committed or would be."""
    command = ["git", "ls-files", "--cached", "--others", "--exclude-standard", "-z"]
    listed = subprocess.run(command, cwd=TOP, capture_output=True, text=True, check=True).stdout
    paths = (TOP / name for name in sorted(set(listed.split("\0"))) if name)
    return [path for path in paths if path.is_file()]


def public_items(tree: ast.Module, name: str) -> Iterator[Item]:
    """Yield the public functions, classes and methods of a module."""
    for node in tree.body:
        if isinstance(node, Function | ast.ClassDef) and not node.name.startswith("_"):
            yield Item(f"{name}:{node.lineno} {node.name}", node)
            if isinstance(node, ast.ClassDef):
                yield from (
                    Item(f"{name}:{method.lineno} {node.name}.{method.name}", method)
                    for method in methods(node)
                )


def methods(node: ast.ClassDef) -> list[Function]:
    """List the public methods of a class."""
    return [item for item in node.body if isinstance(item, Function) and not item.name.startswith("_")]


def arguments(node: Function) -> list[ast.arg]:
    """List the arguments of a function, without self and cls."""
    listed = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    return [argument for argument in listed if argument.arg not in ("self", "cls")]


def parsed(path: Path) -> ast.Module:
    """Parse a Python file."""
    return ast.parse(path.read_text(encoding="utf-8"))


def short(path: Path) -> str:
    """Name a file from the top of the house."""
    return path.relative_to(TOP).as_posix()
