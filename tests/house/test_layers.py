"""Who may import what, where the import contracts cannot see it."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "wearlog"
MODELS = sorted((PACKAGE / "window").glob("*/model*.py"))


def imported(file: Path) -> set[str]:
    """Return the full names that a file imports anywhere in it."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return names


def test_every_page_keeps_its_state_in_a_model():
    assert {model.parent.name for model in MODELS} >= {"trend", "service_sheet", "due", "fleet_list"}


@pytest.mark.parametrize("model", MODELS, ids=lambda file: f"{file.parent.name}/{file.name}")
def test_a_page_model_knows_no_widgets(model):
    forbidden = {name for name in imported(model) if name.startswith("PySide6.") and "QtCore" not in name}
    assert not forbidden


def test_only_units_knows_pint():
    knowing = {
        file.relative_to(PACKAGE).as_posix()
        for file in PACKAGE.rglob("*.py")
        if any(name.split(".")[0] == "pint" for name in imported(file))
    }
    assert knowing == {"units.py"}


def test_threads_are_started_in_one_file():
    pools = {"PySide6.QtCore.QThreadPool", "PySide6.QtCore.QThread", "concurrent.futures", "multiprocessing"}
    starting = {
        file.relative_to(PACKAGE).as_posix()
        for file in PACKAGE.rglob("*.py")
        if imported(file) & pools or "threading.Thread(" in file.read_text(encoding="utf-8")
    }
    assert starting == {"window/background.py"}


def test_the_sample_fleet_knows_nothing_of_the_forecast():
    for file in (PACKAGE.parent / "sample_fleet").rglob("*.py"):
        assert not any(name.split(".")[0] == "wearlog" for name in imported(file)), file.name
