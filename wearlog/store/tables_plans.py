"""The rows of spells, stock and planned visits."""

from datetime import date

from sqlalchemy import UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from wearlog.store.tables_base import KeptRow, Table, VoidableRow, refers


class DutySpellRow(VoidableRow, Table):
    """Since when a vehicle is on which duty."""

    __tablename__ = "duty_spell"

    vehicle_id: Mapped[int] = mapped_column(refers("vehicle"), index=True)
    from_on: Mapped[date]
    duty: Mapped[str]
    note: Mapped[str]


class LayUpRow(VoidableRow, Table):
    """When vehicles stood unused."""

    __tablename__ = "lay_up"

    vehicle_id: Mapped[int] = mapped_column(refers("vehicle"), index=True)
    from_on: Mapped[date]
    until_on: Mapped[date | None]
    reason: Mapped[str]


class StockLineRow(KeptRow, Table):
    """What lies on the shelf, one row for each part type and depot."""

    __tablename__ = "stock_line"
    __table_args__ = (UniqueConstraint("part_type_id", "depot"),)

    part_type_id: Mapped[int] = mapped_column(refers("part_type"))
    depot: Mapped[str]
    on_hand: Mapped[int]
    lead_days: Mapped[int | None]
    price: Mapped[float | None]
    least: Mapped[int | None]
    spare_links: Mapped[int]
    joining_links: Mapped[int]
    note: Mapped[str]


class PartOrderRow(VoidableRow, Table):
    """What is on order."""

    __tablename__ = "part_order"

    part_type_id: Mapped[int] = mapped_column(refers("part_type"), index=True)
    depot: Mapped[str]
    ordered_on: Mapped[date]
    count: Mapped[int]
    expected_on: Mapped[date | None]
    received_count: Mapped[int]
    closed_on: Mapped[date | None]
    price: Mapped[float | None]
    note: Mapped[str]


class StockMoveRow(VoidableRow, Table):
    """What came to the shelf or left it."""

    __tablename__ = "stock_move"

    part_type_id: Mapped[int] = mapped_column(refers("part_type"), index=True)
    depot: Mapped[str]
    on: Mapped[date]
    count: Mapped[int]
    kind: Mapped[str]
    visit_id: Mapped[int | None] = mapped_column(refers("visit"), index=True)
    installation_id: Mapped[int | None] = mapped_column(refers("installation"))
    order_id: Mapped[int | None] = mapped_column(refers("part_order"), index=True)
    by: Mapped[str]
    note: Mapped[str]


class PlannedVisitRow(VoidableRow, Table):
    """Visits to come; `items` is a JSON list."""

    __tablename__ = "planned_visit"

    number: Mapped[str] = mapped_column(unique=True)
    vehicle_id: Mapped[int] = mapped_column(refers("vehicle"), index=True)
    depot: Mapped[str]
    on: Mapped[date]
    state: Mapped[str]
    items: Mapped[str]
    visit_id: Mapped[int | None] = mapped_column(refers("visit"), index=True)
    bay_minutes: Mapped[int | None]
    note: Mapped[str]
