"""Every public function of the engineering rooms says what its numbers are and in which unit."""

import ast
import re
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "wearlog"
ROOMS = ("drive", "measuring", "forecast", "planning")
#: Parameters of these kinds carry numbers, so their entry ends in a unit.
NUMBERS = re.compile(r"\b(float|ndarray|array_like)\b")


def public_functions():
    for room in ROOMS:
        for file in sorted((PACKAGE / room).glob("*.py")):
            for node in ast.parse(file.read_text(encoding="utf-8")).body:
                if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
                    yield pytest.param(node, id=f"{room}/{file.stem}.{node.name}")


def documented(docstring: str) -> list[tuple[str, str, str]]:
    """Return name, type and text of each entry under Parameters."""
    if "Parameters\n----------" not in docstring:
        return []
    section = docstring.split("Parameters\n----------\n", 1)[1]
    section = re.split(r"\n\n[A-Z][a-z]+\n-+\n", section)[0]
    entries: list[tuple[str, str, str]] = []
    for line in section.splitlines():
        head = re.match(r"^(\w[\w, ]*?) : (.*)$", line)
        if head:
            names = [name.strip() for name in head.group(1).split(",")]
            entries += [(name, head.group(2), "") for name in names]
            shared = len(names)
        elif entries and line.strip():
            entries[-shared:] = [(n, kind, f"{text} {line.strip()}") for n, kind, text in entries[-shared:]]
    return entries


@pytest.mark.parametrize("function", list(public_functions()))
def test_parameters_are_documented_in_order_with_their_units(function):
    names = [a.arg for a in (*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs)]
    if function.args.vararg:
        names.append(function.args.vararg.arg)
    docstring = ast.get_docstring(function) or ""
    entries = documented(docstring)
    if not names:
        return
    assert [name for name, _kind, _text in entries] == names
    for name, kind, text in entries:
        if NUMBERS.search(kind) and "progress" not in name:
            assert re.search(r"\[[^\]]+\]", text), f"{name} has no unit"
