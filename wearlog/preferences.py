"""Preferences of one seat: its database, units and look; a typed record and a TOML file."""

import tomllib
from dataclasses import asdict, dataclass, field, fields, replace
from pathlib import Path

import platformdirs

from wearlog.fleet.quantity import ShownUnits


@dataclass(frozen=True, slots=True)
class Preferences:
    """What belongs to a seat rather than to the workshop.

    `theme` is ``"system"``, ``"light"`` or ``"dark"``; `person` is who sits here; `database` is empty for
    the default file. `text_scale` is 1.0 for the platform's own text size. `window` is where the window
    stood, `fleet_width_px` how wide the fleet list was, `last_vehicle` the tag chosen last.
    """

    database: str = ""
    person: str = ""
    theme: str = "system"
    text_scale: float = 1.0
    last_page: str = ""
    last_vehicle: str = ""
    window: str = ""
    fleet_width_px: float = 312.0
    units: ShownUnits = field(default_factory=ShownUnits)


def preferences_file() -> Path:
    """Return where the preferences of this seat are kept."""
    return Path(platformdirs.user_config_dir("wearlog", appauthor=False)) / "preferences.toml"


def default_database() -> Path:
    """Return the SQLite file in the user's data folder."""
    return Path(platformdirs.user_data_dir("wearlog", appauthor=False)) / "wearlog.sqlite"


def read_preferences(file: Path | None = None) -> Preferences:
    """Return the preferences kept in a file; what is missing or has the wrong type keeps its default."""
    file = file or preferences_file()
    try:
        data = tomllib.loads(file.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return Preferences()
    plain = Preferences()
    known = {
        f.name: data[f.name]
        for f in fields(Preferences)
        if f.name != "units" and isinstance(data.get(f.name), type(getattr(plain, f.name)))
    }
    shown = data.get("units")
    given = shown if isinstance(shown, dict) else {}
    units = {f.name: given[f.name] for f in fields(ShownUnits) if isinstance(given.get(f.name), str)}
    return replace(plain, **known, units=ShownUnits(**units))


def write_preferences(preferences: Preferences, file: Path | None = None) -> None:
    """Keep the preferences in a file, replacing it in one step."""
    file = file or preferences_file()
    file.parent.mkdir(parents=True, exist_ok=True)
    data = asdict(preferences)
    units = data.pop("units")
    lines = [f"{name} = {_toml(value)}" for name, value in data.items()]
    lines += ["", "[units]", *(f"{name} = {_toml(value)}" for name, value in units.items())]
    fresh = file.with_suffix(".new")
    fresh.write_text("\n".join(lines) + "\n", encoding="utf-8")
    fresh.replace(file)


def _toml(value: str | float) -> str:
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
        return f'"{escaped}"'
    return repr(float(value))
