"""What all tables have in common, and the type for instants."""

from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Date, DateTime, Dialect, Double, ForeignKey, MetaData, String, Text, TypeDecorator
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column
from sqlalchemy.types import TypeEngine

#: SQLite has no type for instants; its text form sorts by time because every instant is kept in UTC.
INSTANT_TEXT_LENGTH = 32


class Instant(TypeDecorator[datetime]):
    """An instant: aware in, UTC out; ISO 8601 text in SQLite, TIMESTAMP WITH TIME ZONE elsewhere."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """Return the type that the database itself has for it."""
        if dialect.name == "sqlite":
            return dialect.type_descriptor(String(INSTANT_TEXT_LENGTH))
        return dialect.type_descriptor(DateTime(timezone=True))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> object:
        """Return what goes into the database."""
        if value is None:
            return None
        if value.tzinfo is None:
            message = "an instant must say its time zone"
            raise ValueError(message)
        utc = value.astimezone(UTC)
        return utc.isoformat(timespec="microseconds") if dialect.name == "sqlite" else utc

    def process_result_value(self, value: object, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """Return the instant that was kept."""
        if isinstance(value, str):
            return datetime.fromisoformat(value)
        return value.astimezone(UTC) if isinstance(value, datetime) else None


class Table(DeclarativeBase):
    """What all tables have in common."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {str: Text(), float: Double(), date: Date(), datetime: Instant()}  # noqa: RUF012


def refers(target: str) -> ForeignKey:
    """Return a key to a table; a kept row is never deleted, so that it holds back both changes of it."""
    return ForeignKey(f"{target}.id", ondelete="RESTRICT", onupdate="RESTRICT")


class KeptRow:
    """A numbered row whose version counts its changes."""

    id: Mapped[int] = mapped_column(primary_key=True, sort_order=-1)
    version: Mapped[int] = mapped_column(sort_order=2)


class VoidableRow(KeptRow):
    """A row that is voided with a reason instead of being deleted; empty while it counts."""

    void_reason: Mapped[str] = mapped_column(sort_order=1)
