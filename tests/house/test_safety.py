"""Nothing that comes from a file or a person is ever run: no pickle, no eval, no SQL made of words."""

import ast
import csv
import io
import re
from pathlib import Path

import pytest

from wearlog.exchange.files import harmless, name_for_file

PACKAGE = Path(__file__).parents[2] / "wearlog"
SOURCES = sorted([*PACKAGE.rglob("*.py"), *(PACKAGE.parent / "sample_fleet").rglob("*.py")])
RUNNING = {"eval", "exec", "compile", "__import__"}
UNSAFE_MODULES = {
    "pickle",
    "cPickle",
    "marshal",
    "shelve",
    "dill",
    "joblib",
    "yaml",
    "subprocess",
    "os.system",
}
SQL = re.compile(
    r"^\s*(SELECT|INSERT INTO|UPDATE|DELETE FROM|DROP|CREATE|ALTER|PRAGMA|ATTACH)\s+\S", re.MULTILINE
)
#: Ways to hand words to the database.
TO_THE_DATABASE = {"text", "exec_driver_sql", "execute", "executescript", "executemany"}


def tree(file):
    return ast.parse(file.read_text(encoding="utf-8"))


def called(node):
    """Return the name of what a call calls, without what stands before the last point."""
    return node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")


def imported(node):
    """Return the full names that an import brings."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if isinstance(node, ast.ImportFrom) and node.module:
        return [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
    return []


def test_nothing_is_run_that_was_read():
    for file in SOURCES:
        for node in ast.walk(tree(file)):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id not in RUNNING, f"{file.name} line {node.lineno}"
            known = {part for name in imported(node) for part in (name, name.split(".")[0])}
            assert not UNSAFE_MODULES & known, file.name


def test_no_sql_is_written_outside_the_store():
    found = [
        f"{file.relative_to(PACKAGE).as_posix()} line {node.lineno}"
        for file in PACKAGE.rglob("*.py")
        if "store" not in file.relative_to(PACKAGE).parts
        for node in ast.walk(tree(file))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and SQL.match(node.value)
    ]
    assert not found


def made_of_names(node):
    """Return the names that an f-string is made of."""
    return {name.id for part in ast.walk(node) if isinstance(part, ast.FormattedValue)
            for name in ast.walk(part.value) if isinstance(name, ast.Name)}  # fmt: skip


def test_sql_is_never_put_together_from_what_people_typed():
    """Words for the database are constants, or hold names of our own tables and settings."""
    own = {
        "BUSY_TIMEOUT_MS",
        "mode",
        "name",
        "table",
        "row",
        "pages",
        "column",
        "shape",
        "schema",
        "migrations",
    }
    for file in (PACKAGE / "store").rglob("*.py"):
        for node in ast.walk(tree(file)):
            if isinstance(node, ast.Call) and called(node) in TO_THE_DATABASE and node.args:
                where = f"{file.name} line {node.lineno}"
                words = node.args[0]
                assert not isinstance(words, ast.BinOp), where
                if isinstance(words, ast.JoinedStr):
                    assert made_of_names(words) <= own, f"{where}: {made_of_names(words)}"


def test_every_writer_of_tables_keeps_formulas_out():
    for file in (PACKAGE / "exchange").glob("*.py"):
        source = file.read_text(encoding="utf-8")
        if "csv.writer(" in source or "csv.DictWriter(" in source:
            assert "harmless(" in source, file.name
        if "xlsxwriter.Workbook(" in source:
            assert '"strings_to_formulas": False' in source, file.name
            assert ".write_formula(" not in source, file.name


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@A1", "\t=1", "\r=1", "\n=1", " =1+1", "＝1+1"])
def test_a_text_that_looks_like_a_formula_is_written_as_text(text):
    stream = io.StringIO()
    csv.writer(stream).writerow([harmless(text)])
    assert next(csv.reader(io.StringIO(stream.getvalue(), newline="")))[0].startswith("'")


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("LR-017", "LR-017"),
        ("../../etc/passwd", "etc-passwd"),
        ("C:\\boot", "C-boot"),
        ("nul", "nul-"),
        ("CON.txt", "CON-.txt"),
        ("  . ", "wearlog"),
        ("a\x00b\nc", "a-b-c"),
        ("Kette für Käthe", "Kette für Käthe"),
        ("x" * 300, "x" * 100),
    ],
)
def test_names_of_files_are_made_safe(text, name):
    assert name_for_file(text) == name
