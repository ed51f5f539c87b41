"""The figures of the fleet record as plain data: JSON for programs, one row a figure for spreadsheets."""

import csv
import io
import math
from collections.abc import Iterator
from typing import Any

from wearlog import __version__
from wearlog.exchange.files import harmless
from wearlog.workshop.record_snapshot import (
    Comparison,
    Factor,
    KindRecord,
    Rate,
    RecordSnapshot,
    Reliability,
    Survival,
)

#: Columns of the table; numbers with a point, uses in km (h), rates in allowances per 1000 km (100 h).
COLUMNS = (
    "kind",
    "measurand",
    "use_unit",
    "compared_by",
    "level",
    "figure",
    "value",
    "low_95",
    "high_95",
    "checks",
    "parts",
)


def record_data(snapshot: RecordSnapshot) -> dict[str, Any]:
    """Return the record as plain data; canonical numbers with the unit in the field name."""
    return {
        "program": f"wearlog {__version__}",
        "as_of": snapshot.today.isoformat(),
        "without_hindsight": snapshot.is_honest,
        "next_reading": _reliability_data(snapshot.readings, "allowance"),
        "distance_at_limit": _reliability_data(snapshot.distances, "relative"),
        "kinds": [_kind_data(kind) for kind in snapshot.kinds],
    }


def _kind_data(kind: KindRecord) -> dict[str, Any]:
    return {
        "kind": kind.wear_class.value,
        "measurand": kind.measurand.value,
        "use_unit": kind.use_unit,
        "parts": kind.n_parts,
        "readings": kind.n_readings,
        "wears_straight": kind.is_straight,
        "next_reading": _reliability_data(kind.readings, "allowance"),
        "distance_at_limit": _reliability_data(kind.distances, "relative"),
        "rate": None if kind.rate is None else _rate_data(kind.rate, kind.use_unit),
        "compared": {
            by.value: _comparison_data(comparison, kind.use_unit)
            for by, comparison in kind.comparisons.items()
        },
        "survival": None if kind.survival is None else _survival_data(kind.survival, kind.use_unit),
        "survival_by": {
            by.value: [_survival_data(one, kind.use_unit) for one in curves]
            for by, curves in kind.survival_by.items()
        },
    }


def _reliability_data(judged: Reliability, error: str) -> dict[str, Any]:
    return {
        "checks": judged.n_checks,
        "parts": judged.n_parts,
        "intervals": [
            {
                "promised": one.width,
                "held": _finite(one.share),
                "held_low_95": _finite(one.low),
                "held_high_95": _finite(one.high),
            }
            for one in (judged.curve if judged.n_checks else ())
        ],
        f"median_error_{error}": _finite(judged.median_error),
        f"median_error_{error}_straight_line": _finite(judged.line_error),
    }


def _rate_data(rate: Rate, use_unit: str) -> dict[str, Any]:
    per = "per_100_h" if use_unit == "h" else "per_1000_km"
    return {
        "level": rate.level,
        "parts": rate.n_parts,
        "parts_read": rate.n_read,
        f"allowance_{per}": _finite(rate.rate),
        f"allowance_{per}_low_95": _finite(rate.low),
        f"allowance_{per}_high_95": _finite(rate.high),
    }


def _comparison_data(comparison: Comparison, use_unit: str) -> dict[str, Any]:
    verdict = comparison.verdict
    told: dict[str, Any] | None = None
    if verdict is not None:
        told = {
            "data_tell": verdict.is_told,
            "faster": verdict.faster,
            "slower": verdict.slower,
            "ratio": _finite(verdict.ratio),
            "ratio_low_95": _finite(verdict.low),
            "ratio_high_95": _finite(verdict.high),
        }
    return {"rates": [_rate_data(rate, use_unit) for rate in comparison.rates], "verdict": told}


def _survival_data(curve: Survival, use_unit: str) -> dict[str, Any]:
    return {
        "level": curve.level,
        "parts": curve.n_parts,
        "worn": curve.n_worn,
        "running": curve.n_running,
        "history_unknown": curve.n_unknown,
        f"median_life_{use_unit}": _finite(curve.median),
        f"median_life_{use_unit}_low_95": _finite(curve.median_low),
        f"median_life_{use_unit}_high_95": _finite(curve.median_high),
        "steps": [
            {
                f"use_{use_unit}": _finite(use),
                "followed": int(followed),
                "share": _finite(share),
                "share_low_95": _finite(low),
                "share_high_95": _finite(high),
            }
            for use, followed, share, low, high in zip(
                curve.use.tolist(),
                curve.at_risk.tolist(),
                curve.share.tolist(),
                curve.low.tolist(),
                curve.high.tolist(),
                strict=True,
            )
        ],
    }


def _finite(value: float) -> float | None:
    return float(f"{value:.9g}") if math.isfinite(value) else None


# --- one row a figure -----------------------------------------------------------------------------------


def record_table(snapshot: RecordSnapshot) -> str:
    """Return the record as CSV, one row a figure."""
    stream = io.StringIO(newline="")
    table = csv.writer(stream)
    table.writerow(COLUMNS)
    for row in _rows(snapshot):
        table.writerow([harmless(cell) if isinstance(cell, str) else _cell(cell) for cell in row])
    return stream.getvalue()


def _cell(value: float | None) -> str:
    return "" if value is None or not math.isfinite(value) else f"{value:.9g}"


def _rows(snapshot: RecordSnapshot) -> Iterator[tuple[Any, ...]]:
    everything = ("all", "", "")
    yield from _reliability_rows(everything, "next reading", snapshot.readings)
    yield from _reliability_rows(everything, "distance at limit", snapshot.distances)
    for kind in snapshot.kinds:
        head = (kind.wear_class.value, kind.measurand.value, kind.use_unit)
        yield from _reliability_rows(head, "next reading", kind.readings)
        yield from _reliability_rows(head, "distance at limit", kind.distances)
        if kind.rate is not None:
            yield _rate_row(head, "", kind.rate)
        for by, comparison in kind.comparisons.items():
            for rate in comparison.rates:
                yield _rate_row(head, by.value, rate)
            yield from _verdict_rows(head, by, comparison)
        if kind.survival is not None:
            yield from _survival_rows(head, "", kind.survival)
        for by, curves in kind.survival_by.items():
            for curve in curves:
                yield from _survival_rows(head, by.value, curve)


def _reliability_rows(
    head: tuple[str, str, str], what: str, judged: Reliability
) -> Iterator[tuple[Any, ...]]:
    counts = (judged.n_checks, judged.n_parts)
    if not judged.n_checks:
        return
    for one in judged.told:
        figure = f"share of {one.width:g} intervals that held: {what}"
        yield (*head, "", "", figure, one.share, one.low, one.high, *counts)
    for figure, value in (
        ("median error", judged.median_error),
        ("median error of straight line", judged.line_error),
    ):
        yield (*head, "", "", f"{figure}: {what}", value, None, None, *counts)


def _rate_row(head: tuple[str, str, str], by: str, rate: Rate) -> tuple[Any, ...]:
    return (*head, by, rate.level, "wear rate", rate.rate, rate.low, rate.high, rate.n_read, rate.n_parts)


def _verdict_rows(
    head: tuple[str, str, str], by: Factor, comparison: Comparison
) -> Iterator[tuple[Any, ...]]:
    verdict = comparison.verdict
    if verdict is not None:
        told = "rate ratio, told apart" if verdict.is_told else "rate ratio, not told apart"
        pair = f"{verdict.faster} / {verdict.slower}"
        yield (*head, by.value, pair, told, verdict.ratio, verdict.low, verdict.high, None, None)


def _survival_rows(head: tuple[str, str, str], by: str, curve: Survival) -> Iterator[tuple[Any, ...]]:
    counts = (curve.n_worn, curve.n_parts)
    yield (*head, by, curve.level, "median life", curve.median, curve.median_low, curve.median_high, *counts)
    if by:
        return
    for use, share, low, high, followed in zip(
        curve.use.tolist(),
        curve.share.tolist(),
        curve.low.tolist(),
        curve.high.tolist(),
        curve.at_risk.tolist(),
        strict=True,
    ):
        yield (*head, by, curve.level, f"share beyond {use:.9g}", share, low, high, None, followed)
