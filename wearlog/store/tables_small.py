"""Small tables beside the records: settings, drafts, fits, keys of file rows and of saves, personal data."""

from datetime import datetime

from sqlalchemy.orm import Mapped, mapped_column

from wearlog.store.tables_base import Table, refers


class SettingRow(Table):
    """What the workshop agrees on, by name."""

    __tablename__ = "setting"

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str]


class DraftRow(Table):
    """Entries that are not finished, by a key of the page's own choosing."""

    __tablename__ = "draft"

    key: Mapped[str] = mapped_column(primary_key=True)
    text: Mapped[str]


class StoredFitRow(Table):
    """The latest fit of each family of parts, and the data version it was made from."""

    __tablename__ = "stored_fit"

    family: Mapped[str] = mapped_column(primary_key=True)
    payload: Mapped[str]
    data_version: Mapped[int]


class RowKeyRow(Table):
    """Which rows of which files have been brought in already; none counts whose change was taken back."""

    __tablename__ = "row_key"

    key: Mapped[str] = mapped_column(primary_key=True)
    source: Mapped[str]
    change_id: Mapped[str] = mapped_column(index=True)
    counts: Mapped[bool]


class DataVersionRow(Table):
    """One row only: it counts the committed changes and, on a server, is the baton that writers pass on."""

    __tablename__ = "data_version"

    id: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    value: Mapped[int]


class SavedKeyRow(Table):
    """Which saves are done: the key that the seat gave each, so that one tried twice is done once."""

    __tablename__ = "saved_key"

    key: Mapped[str] = mapped_column(primary_key=True)
    change_id: Mapped[str]
    at: Mapped[datetime]


class PersonalRow(Table):
    """Personal data for which a digest stands in the trail; the only records that can be erased."""

    __tablename__ = "personal"

    digest: Mapped[str] = mapped_column(primary_key=True)
    vehicle_id: Mapped[int] = mapped_column(refers("vehicle"), index=True)
    salt: Mapped[str]
    text: Mapped[str]
