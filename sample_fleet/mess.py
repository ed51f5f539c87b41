"""Readings gone wrong: what a tired hand does to a row."""

from datetime import date
from fractions import Fraction

from sample_fleet.bench import Taken, inch_fraction
from sample_fleet.books import Row
from sample_fleet.fitted import Fitted
from sample_fleet.roads import RECORDS_FROM
from sample_fleet.vehicle import VehicleState, mess

#: Share of length readings that are laid on badly without anybody noticing.
BADLY_LAID = 0.008


def spoil(
    vehicle: VehicleState, day: date, row: Row, taken: Taken, part: Fitted | None, *, is_zero: bool
) -> str:
    """Spoil an elongation reading if it is its turn, and return what was done, empty if nothing.

    Parameters
    ----------
    vehicle
        Whose `misread` says what is to go wrong next.
    day
        The day of the reading.
    row
        The row of the reading; changed in place.
    taken
        The reading as a careful hand took it.
    part
        The chain.
    is_zero
        Whether it is the first reading of a new chain; those are taken with care.
    """
    if part is None or taken.pitches is None or is_zero or day < RECORDS_FROM:
        return ""
    pitch = part.part_type.pitch_mm
    nominal = taken.pitches * pitch
    spots = row["spots [mm]"]
    mark = vehicle.misread
    vehicle.misread = ""
    if mark == "voided misread":
        row["spots [mm]"] = shifted(spots, pitch)
        row["void reason"] = f"counted {taken.pitches + 1} pitches instead of {taken.pitches}"
        detail = "one pitch too many, voided"
    elif mark == "digit slip":
        row["spots [mm]"] = shifted(spots, 1.0, only_greatest=True)
        detail = "one digit too high in the greatest spot, not voided"
    elif mark == "uncleaned":
        row["spots [mm]"] = shifted(spots, -0.0022 * nominal)
        row["cleaned"] = "no"
        row["note"] = "dirty, joints stiff with grit"
        detail = "reads about 0.22 % low"
    elif mark == "wrong vehicle":
        row["spots [mm]"] = shifted(spots, 0.0042 * nominal)
        detail = "chain of another vehicle, reads about 0.42 % high"
    elif float(vehicle.rng.random()) < BADLY_LAID:
        error = 0.0022 + float(vehicle.rng.exponential(0.001))
        error *= -1 if vehicle.rng.random() < 0.4 else 1
        row["spots [mm]"] = shifted(spots, error * nominal)
        mark, detail = "badly laid", f"off by {error * 100:+.2f} %"
    else:
        return ""
    vehicle.books.know("mess", mess(mark, vehicle.plan.tag, day, f"{row['stage']}: {detail}"))
    return mark


def shifted(spots: str, by_mm: float, *, only_greatest: bool = False) -> str:
    """Return typed spots with a length added to all of them, or to the greatest.

    Examples
    --------
    >>> shifted("254.5; 255.0", 1.0, only_greatest=True)
    '254.5; 256.0'
    >>> shifted("93.85/109.40", 12.7)
    '106.55/122.10'
    """
    cells = spots.split("; ")
    greatest = max(cells, key=_length_mm)
    return "; ".join(
        "/".join(_shifted(number, by_mm) for number in cell.split("/"))
        if not cell.endswith(" in") and (cell == greatest or not only_greatest)
        else inch_fraction(_length_mm(cell) + by_mm)
        if cell == greatest or not only_greatest
        else cell
        for cell in cells
    )


def _shifted(number: str, by_mm: float) -> str:
    decimals = len(number.partition(".")[2])
    return f"{float(number) + by_mm:.{decimals}f}"


def _length_mm(cell: str) -> float:
    if cell.endswith(" in"):
        return 25.4 * float(sum(Fraction(piece) for piece in cell.removesuffix(" in").split()))
    return sum(float(number) for number in cell.split("/"))
