"""The starting catalogue: chains and belts of the published standards."""

from functools import cache
from typing import Any

from wearlog import resources
from wearlog.fleet.parts import PartKind, PartType, WearClass

#: One file for each standard.
STANDARDS = ("iso_606", "asme_b29_1", "iso_10190", "iso_9633", "iso_5296", "iso_13050")


@cache
def catalogue() -> tuple[PartType, ...]:
    """Return the part types of all standards, each with its source."""
    return tuple(part_type for standard in STANDARDS for part_type in catalogue_of(standard))


def catalogue_of(standard: str) -> tuple[PartType, ...]:
    """Return the part types of one standard's file.

    Parameters
    ----------
    standard : str
        One of `STANDARDS`.

    Examples
    --------
    >>> [chain.roller_diameter_mm for chain in catalogue_of("iso_606") if chain.designation == "08B"]
    [8.51]
    """
    content = resources.toml("catalogue", f"{standard}.toml")
    types = [
        _chain(row, wear_class) for row in content.get("chain", []) for wear_class in row["wear_classes"]
    ]
    for row in content.get("belt", []):
        types += [_belt(row, width_mm) for width_mm in row.get("widths_mm", [None])]
    return tuple(types)


#: What tells apart two chains of one designation.
_WORD = {
    WearClass.SEALED_MOTORCYCLE_CHAIN: "sealed chain",
    WearClass.OPEN_MOTORCYCLE_CHAIN: "open chain",
    WearClass.PRIMARY_ROLLER_CHAIN: "roller chain",
    WearClass.DERAILLEUR_CYCLE_CHAIN: "derailleur chain",
    WearClass.HUB_GEAR_CYCLE_CHAIN: "hub-gear chain",
}


def _chain(row: dict[str, Any], wear_class: str) -> PartType:
    kind = WearClass(wear_class)
    return PartType(
        kind=PartKind.CHAIN,
        name=f"{row['designation']} {_WORD[kind]}",
        designation=row["designation"],
        wear_class=kind,
        pitch_mm=row["pitch_mm"],
        roller_diameter_mm=row["roller_diameter_mm"],
        inner_width_mm=row.get("inner_width_mm"),
        source=row["source"],
    )


def _belt(row: dict[str, Any], width_mm: float | None) -> PartType:
    mass = row.get("mass_g_per_m_and_mm")
    return PartType(
        kind=PartKind.BELT,
        name=f"{row['designation']} belt" + (f", {width_mm:g} mm wide" if width_mm is not None else ""),
        designation=row["designation"],
        wear_class=WearClass.TOOTHED_BELT,
        pitch_mm=row["pitch_mm"],
        width_mm=width_mm,
        mass_kg_per_m=round(1e-3 * mass * width_mm, 6) if mass is not None and width_mm is not None else None,
        source=row["source"],
    )


@cache
def pitch_differentials_mm() -> dict[str, float]:
    """Return how far the pitch line of each belt profile lies outside its pulley, on the radius, [mm]."""
    rows = resources.toml("catalogue", "iso_13050.toml")["belt"]
    return {
        row["designation"]: row["pitch_differential_mm"] for row in rows if "pitch_differential_mm" in row
    }


@cache
def minimum_tensile_strengths_kn() -> dict[str, float]:
    """Return the least tensile strength of each chain designation that a standard gives one for, [kN]."""
    rows = [
        row
        for standard in STANDARDS
        for row in resources.toml("catalogue", f"{standard}.toml").get("chain", [])
    ]
    return {row["designation"]: row["tensile_strength_kn"] for row in rows if "tensile_strength_kn" in row}


@cache
def pin_diameters_mm() -> dict[str, float]:
    """Return the pin diameter of each chain designation that one is known of, [mm]."""
    rows = [
        row
        for standard in STANDARDS
        for row in resources.toml("catalogue", f"{standard}.toml").get("chain", [])
    ]
    return {row["designation"]: row["pin_diameter_mm"] for row in rows if "pin_diameter_mm" in row}
