"""Every shipped figure says where it comes from."""

import tomllib
from pathlib import Path

import pytest

RESOURCES = Path(__file__).parents[2] / "resources"
TABLES = sorted([*(RESOURCES / "catalogue").glob("*.toml"), *(RESOURCES / "limits").glob("*.toml")])


def rows(value, path=""):
    """Yield every table that holds numbers, with its place in the file."""
    if isinstance(value, list):
        for n, one in enumerate(value):
            yield from rows(one, f"{path}[{n}]")
    elif isinstance(value, dict):
        if any(isinstance(one, int | float) and not isinstance(one, bool) for one in value.values()):
            yield path, value
        for name, one in value.items():
            yield from rows(one, f"{path}.{name}")


def test_the_tables_of_the_standards_are_there():
    assert {"iso_606", "asme_b29_1", "iso_10190", "iso_9633", "iso_5296", "iso_13050"} <= {
        file.stem for file in TABLES
    }


@pytest.mark.parametrize("file", TABLES, ids=lambda file: file.stem)
def test_every_row_names_its_source(file):
    found = list(rows(tomllib.loads(file.read_text(encoding="utf-8"))))
    assert found
    for path, row in found:
        assert row.get("source"), f"{file.name} {path} has no source"
