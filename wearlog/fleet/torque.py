"""Torque sheets: the fasteners of a vehicle model, how tight they belong, and what was applied to them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

#: Around a range of a single value stands what a torque wrench may deviate by: 4 % (ISO 6789, type II class A
#: above 10 N.m, as quoted by a maker of wrenches).
WRENCH_SHARE = 0.04


class Treatment(StrEnum):
    """How the threads are prepared; a range counts for one treatment only."""

    DRY = "dry"
    OILED = "oiled"
    GREASED = "greased"
    THREAD_LOCK = "thread-lock"


class TorqueWork(StrEnum):
    """What was done at a fastener.

    A thread-locked joint that has cured is looked at rather than turned: turning it breaks the bond.
    """

    TIGHTENED = "tightened"
    RECHECKED = "re-checked"
    MARKER_SEEN = "marker line looked at"

    @property
    def is_recheck(self) -> bool:
        """Whether it looks at a joint that was tightened before."""
        return self is not TorqueWork.TIGHTENED


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueSheet:
    """The fasteners of a vehicle model, or of one vehicle alone.

    `model` is that of the vehicles it is for; `vehicle_id` is set on the sheet of a single vehicle, which
    then counts instead of its model's.
    """

    name: str
    model: str = ""
    vehicle_id: int | None = None
    note: str = ""
    source: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fastener:
    """One kind of fastener of a torque sheet, all its bolts together.

    `stage_name` is empty where it belongs to no drive stage. `size` is what stands on it, for example
    ``"M6 x 16"``. `is_opposing` bolts sit on a circle and are tightened in opposing order. The re-check is
    due `recheck_km` (h on hour meters: `recheck_h`) after tightening; None where none is asked for.
    """

    torque_sheet_id: int
    order: int
    name: str
    low_nm: float
    high_nm: float
    stage_name: str = ""
    size: str = ""
    treatment: Treatment = Treatment.DRY
    bolts: int = 1
    is_opposing: bool = False
    recheck_km: float | None = None
    recheck_h: float | None = None
    source: str = ""
    note: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0

    def is_in_range(self, torque_nm: float) -> bool:
        """Whether a torque lies in the range; a single value has some room around it."""
        share = WRENCH_SHARE if self.low_nm == self.high_nm else 1e-6
        slack = share * self.high_nm
        return self.low_nm - slack <= torque_nm <= self.high_nm + slack

    def recheck_after(self, use_unit: str) -> float | None:
        """Return after how much use the re-check is due, km (h where `use_unit` is ``"h"``)."""
        return self.recheck_h if use_unit == "h" else self.recheck_km


@dataclass(frozen=True, slots=True, kw_only=True)
class TorqueRecord:
    """What was done at one fastener of one vehicle.

    `applied_nm` has one value for each bolt in tightening order, a single one for all alike, or none where
    only the marker line was looked at; `typed` is what was typed. `total_use` in km (h on hour meters).
    """

    vehicle_id: int
    fastener_id: int
    on: date
    total_use: float
    work: TorqueWork = TorqueWork.TIGHTENED
    applied_nm: tuple[float, ...] = ()
    typed: str = ""
    visit_id: int | None = None
    instrument_id: int | None = None
    by: str = ""
    note: str = ""
    void_reason: str = ""
    id: int = 0
    version: int = 0


def sheet_for(sheets: Iterable[TorqueSheet], vehicle_id: int, model: str) -> TorqueSheet | None:
    """Return the sheet that counts for a vehicle: its own, else its model's; the newest of equals.

    Examples
    --------
    >>> shared = TorqueSheet(name="Marten", model="Marten 250", id=1)
    >>> own = TorqueSheet(name="LR-017", vehicle_id=17, id=2)
    >>> [sheet_for([shared, own], number, "Marten 250").name for number in (16, 17)]
    ['Marten', 'LR-017']
    """
    best: TorqueSheet | None = None
    for sheet in sheets:
        is_own = sheet.vehicle_id == vehicle_id
        is_models = sheet.vehicle_id is None and bool(model) and sheet.model == model
        if sheet.void_reason or not (is_own or is_models):
            continue
        if best is None or (is_own, sheet.id) > (best.vehicle_id is not None, best.id):
            best = sheet
    return best
