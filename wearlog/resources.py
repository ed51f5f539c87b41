"""Finds the files that are shipped but are not code: in a checkout, or inside the installed package."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

_PACKAGE = Path(__file__).resolve().parent


def _folder(name: str, installed: str) -> Path:
    inside = _PACKAGE / installed
    return inside if inside.is_dir() else _PACKAGE.parent / name


def resource(*parts: str) -> Path:
    """Return the path of a shipped file, for example ``resource("limits", "limits.toml")``."""
    return _folder("resources", "_resources").joinpath(*parts)


def sample_fleet() -> Path:
    """Return the folder of the sample fleet's CSV files."""
    return _folder("sample_fleet", "_sample_fleet") / "csv"


@cache
def _parsed(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def toml(*parts: str) -> dict[str, Any]:
    """Return the content of a shipped TOML file."""
    return _parsed(resource(*parts))
