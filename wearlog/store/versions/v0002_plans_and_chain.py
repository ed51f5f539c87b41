"""Keep spells, stock and planned visits; chain the trail, with personal data apart; know saves by a key."""

import json
import secrets
from typing import Any

import sqlalchemy as sa
from alembic import op

from wearlog.fleet.audit import AuditEntry, chain_after, personal_digest
from wearlog.store.tables_base import Instant

revision = "0002"
down_revision = "0001"

#: Text in SQLite, which has no type for instants.
INSTANT = sa.DateTime(timezone=True).with_variant(sa.String(32), "sqlite")
#: Rows of the trail chained at once.
_PORTION = 5000


def upgrade() -> None:
    """Add the tables and columns, then chain the trail there is."""
    op.add_column(
        "visit", sa.Column("planned_number", sa.Text(), nullable=False, server_default=sa.text("''"))
    )
    op.add_column("audit", sa.Column("chain", sa.Text(), nullable=False, server_default=sa.text("''")))
    _make_small_tables()
    _make_spells()
    _make_stock()
    _make_planned_visits()
    _chain_the_trail()


def _kept(*columns: sa.Column[Any]) -> list[Any]:
    number = sa.Column("id", sa.Integer(), nullable=False)
    return [number, *columns, sa.Column("version", sa.Integer(), nullable=False)]


def _voidable(*columns: sa.Column[Any]) -> list[Any]:
    return _kept(*columns, sa.Column("void_reason", sa.Text(), nullable=False))


def _text(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Text(), nullable=False)


def _integer(name: str, *, may_miss: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.Integer(), nullable=may_miss)


def _double(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Double(), nullable=True)


def _day(name: str, *, may_miss: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.Date(), nullable=may_miss)


def _make(
    table: str, columns: list[Any], key: str, refers: dict[str, str], unique: tuple[str, ...] = ()
) -> None:
    constraints: list[Any] = [sa.PrimaryKeyConstraint(key, name=op.f(f"pk_{table}"))]
    for column, target in refers.items():
        constraints.append(
            sa.ForeignKeyConstraint(
                [column],
                [f"{target}.id"],
                name=op.f(f"fk_{table}_{column}"),
                onupdate="RESTRICT",
                ondelete="RESTRICT",
            )
        )
    if unique:
        constraints.append(sa.UniqueConstraint(*unique, name=op.f(f"uq_{table}_{'_'.join(unique)}")))
    op.create_table(table, *columns, *constraints)


def _index(table: str, *columns: str) -> None:
    for column in columns:
        op.create_index(op.f(f"ix_{table}_{column}"), table, [column], unique=False)


def _make_small_tables() -> None:
    at = sa.Column("at", INSTANT, nullable=False)
    _make("saved_key", [_text("key"), _text("change_id"), at], "key", {})
    _make(
        "personal",
        [_text("digest"), _integer("vehicle_id"), _text("salt"), _text("text")],
        "digest",
        {"vehicle_id": "vehicle"},
    )
    _index("personal", "vehicle_id")


def _make_spells() -> None:
    spell = _voidable(_integer("vehicle_id"), _day("from_on"), _text("duty"), _text("note"))
    _make("duty_spell", spell, "id", {"vehicle_id": "vehicle"})
    _index("duty_spell", "vehicle_id")
    lay_up = _voidable(
        _integer("vehicle_id"), _day("from_on"), _day("until_on", may_miss=True), _text("reason")
    )
    _make("lay_up", lay_up, "id", {"vehicle_id": "vehicle"})
    _index("lay_up", "vehicle_id")


def _make_stock() -> None:
    line = _kept(
        _integer("part_type_id"),
        _text("depot"),
        _integer("on_hand"),
        _integer("lead_days", may_miss=True),
        _double("price"),
        _integer("least", may_miss=True),
        _integer("spare_links"),
        _integer("joining_links"),
        _text("note"),
    )
    _make("stock_line", line, "id", {"part_type_id": "part_type"}, unique=("part_type_id", "depot"))
    order = _voidable(
        _integer("part_type_id"),
        _text("depot"),
        _day("ordered_on"),
        _integer("count"),
        _day("expected_on", may_miss=True),
        _integer("received_count"),
        _day("closed_on", may_miss=True),
        _double("price"),
        _text("note"),
    )
    _make("part_order", order, "id", {"part_type_id": "part_type"})
    _index("part_order", "part_type_id")
    move = _voidable(
        _integer("part_type_id"),
        _text("depot"),
        _day("on"),
        _integer("count"),
        _text("kind"),
        _integer("visit_id", may_miss=True),
        _integer("installation_id", may_miss=True),
        _integer("order_id", may_miss=True),
        _text("by"),
        _text("note"),
    )
    refers = {"visit_id": "visit", "installation_id": "installation", "order_id": "part_order"}
    _make("stock_move", move, "id", {"part_type_id": "part_type"} | refers)
    _index("stock_move", "part_type_id", "visit_id", "order_id")


def _make_planned_visits() -> None:
    planned = _voidable(
        _text("number"),
        _integer("vehicle_id"),
        _text("depot"),
        _day("on"),
        _text("state"),
        _text("items"),
        _integer("visit_id", may_miss=True),
        _integer("bay_minutes", may_miss=True),
        _text("note"),
    )
    refers = {"vehicle_id": "vehicle", "visit_id": "visit"}
    _make("planned_visit", planned, "id", refers, unique=("number",))
    _index("planned_visit", "vehicle_id", "visit_id")


# -- the trail there is ------------------------------------------------------------------------------------


def _chain_the_trail() -> None:
    text, number = sa.Text(), sa.Integer()
    types: dict[str, Any] = {"id": number, "record_id": number, "vehicle_id": number, "at": Instant()}
    types |= dict.fromkeys(("record", "before", "after", "by", "what", "change_id", "chain"), text)
    audit = sa.table("audit", *(sa.column(name, kind) for name, kind in types.items()))
    personal = sa.table("personal", *map(sa.column, ("digest", "vehicle_id", "salt", "text")))
    connection = op.get_bind()
    chain, last = "", 0
    while True:
        query = sa.select(audit).where(audit.c.id > last).order_by(audit.c.id).limit(_PORTION)
        rows = [dict(row) for row in connection.execute(query).mappings()]
        if not rows:
            return
        last = rows[-1]["id"]
        hidden: list[dict[str, Any]] = []
        for row in rows:
            row |= {side: _without_contact(row, row[side], hidden) for side in ("before", "after")}
            row["chain"] = chain = chain_after(chain, AuditEntry(**row))
        if hidden:
            connection.execute(sa.insert(personal), hidden)
        change = (
            sa.update(audit)
            .where(audit.c.id == sa.bindparam("number"))
            .values({name: sa.bindparam(f"new_{name}") for name in ("before", "after", "chain")})
        )
        connection.execute(
            change,
            [
                {"number": row["id"], **{f"new_{name}": row[name] for name in ("before", "after", "chain")}}
                for row in rows
            ],
        )


def _without_contact(row: dict[str, Any], told: str, hidden: list[dict[str, Any]]) -> str:
    """Return what one side of a row tells with a digest for the owner's contact, which goes to `hidden`."""
    if row["record"] != "Vehicle" or '"owner_contact"' not in told:
        return told
    values = json.loads(told)
    contact = values.get("owner_contact")
    if not contact:
        return told
    salt = secrets.token_hex(16)
    digest = personal_digest(salt, contact)
    hidden.append({"digest": digest, "vehicle_id": row["record_id"], "salt": salt, "text": contact})
    values["owner_contact"] = digest
    return json.dumps(values, ensure_ascii=False, separators=(",", ":"))
