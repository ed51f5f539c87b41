"""The table of check values: published and derived figures, each with its source and tolerance."""

import csv
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest


@dataclass(frozen=True, slots=True)
class Row:
    """One check value as it stands in the table."""

    id: str
    inputs: str
    quantity: str
    value: str
    tolerance: str
    source: str
    kind: str

    @property
    def values(self) -> list[float]:
        """The figures of the row, one or several parted by strokes."""
        return [float(part) for part in self.value.split("/")]

    @property
    def allowed(self) -> float:
        """How far off the figures may be."""
        number = re.search(r"\d+(?:\.\d+)?(?:e-?\d+)?", self.tolerance)
        size = float(number.group()) if number else 0.0
        if re.match(r"[\d.]+ %", self.tolerance):
            size *= abs(self.values[0]) / 100
        return max(size, 1e-9)


@cache
def table() -> dict[str, Row]:
    with (Path(__file__).parent / "check_values.csv").open(encoding="utf-8", newline="") as file:
        return {
            line["id"]: Row(
                line["id"],
                line["inputs"],
                line["quantity"],
                line["value"],
                line["tolerance"],
                line["source"],
                line["found_or_memory"],
            )
            for line in csv.DictReader(file)
        }


def reproduces(row_id: str, *values: float) -> None:
    """Assert that values agree with a row within its tolerance."""
    row = table()[row_id]
    assert list(values) == pytest.approx(row.values, abs=row.allowed, rel=0), f"{row.inputs}: {row.source}"
