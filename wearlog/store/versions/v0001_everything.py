"""Create everything that is kept."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

#: Text in SQLite, which has no type for instants.
INSTANT = sa.DateTime(timezone=True).with_variant(sa.String(32), "sqlite")


def upgrade() -> None:
    op.create_table(
        "audit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", INSTANT, nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("what", sa.Text(), nullable=False),
        sa.Column("record", sa.Text(), nullable=False),
        sa.Column("record_id", sa.Integer(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=True),
        sa.Column("before", sa.Text(), nullable=False),
        sa.Column("after", sa.Text(), nullable=False),
        sa.Column("change_id", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_audit")),
    )
    op.create_index(op.f("ix_audit_change_id"), "audit", ["change_id"], unique=False)
    op.create_index(op.f("ix_audit_record_record_id"), "audit", ["record", "record_id"], unique=False)
    op.create_index(op.f("ix_audit_vehicle_id"), "audit", ["vehicle_id"], unique=False)
    op.create_table(
        "data_version",
        sa.Column("id", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("value", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_data_version")),
    )
    op.create_table(
        "draft",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_draft")),
    )
    op.create_table(
        "instrument",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("resolution", sa.Double(), nullable=False),
        sa.Column("u_instrument", sa.Double(), nullable=False),
        sa.Column("bias", sa.Double(), nullable=False),
        sa.Column("stamps", sa.Text(), nullable=False),
        sa.Column("calibration_due", sa.Date(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("retired_on", sa.Date(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_instrument")),
        sa.UniqueConstraint("name", name=op.f("uq_instrument_name")),
    )
    op.create_table(
        "part_type",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("designation", sa.Text(), nullable=False),
        sa.Column("wear_class", sa.Text(), nullable=False),
        sa.Column("pitch_mm", sa.Double(), nullable=False),
        sa.Column("roller_diameter_mm", sa.Double(), nullable=True),
        sa.Column("inner_width_mm", sa.Double(), nullable=True),
        sa.Column("links", sa.Integer(), nullable=True),
        sa.Column("joining_link", sa.Text(), nullable=False),
        sa.Column("teeth", sa.Integer(), nullable=True),
        sa.Column("chain", sa.Text(), nullable=False),
        sa.Column("width_mm", sa.Double(), nullable=True),
        sa.Column("mass_kg_per_m", sa.Double(), nullable=True),
        sa.Column("lead_time_days", sa.Integer(), nullable=False),
        sa.Column("price", sa.Double(), nullable=True),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part_type")),
        sa.UniqueConstraint("name", name=op.f("uq_part_type_name")),
    )
    op.create_table(
        "row_key",
        sa.Column("key", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("change_id", sa.Text(), nullable=False),
        sa.Column("counts", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_row_key")),
    )
    op.create_index(op.f("ix_row_key_change_id"), "row_key", ["change_id"], unique=False)
    op.create_table(
        "setting",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_setting")),
    )
    op.create_table(
        "stored_fit",
        sa.Column("family", sa.Text(), nullable=False),
        sa.Column("payload", sa.Text(), nullable=False),
        sa.Column("data_version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("family", name=op.f("pk_stored_fit")),
    )
    op.create_table(
        "vehicle",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("tag", sa.Text(), nullable=False),
        sa.Column("description", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("depot", sa.Text(), nullable=False),
        sa.Column("meter_unit", sa.Text(), nullable=False),
        sa.Column("duty", sa.Text(), nullable=False),
        sa.Column("model", sa.Text(), nullable=False),
        sa.Column("owner_contact", sa.Text(), nullable=False),
        sa.Column("in_service_since", sa.Date(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("retired_on", sa.Date(), nullable=True),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vehicle")),
        sa.UniqueConstraint("tag", name=op.f("uq_vehicle_tag")),
    )
    op.create_table(
        "interval_rule",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("task", sa.Text(), nullable=False),
        sa.Column("every_km", sa.Double(), nullable=True),
        sa.Column("every_h", sa.Double(), nullable=True),
        sa.Column("every_days", sa.Integer(), nullable=True),
        sa.Column("first_km", sa.Double(), nullable=True),
        sa.Column("first_h", sa.Double(), nullable=True),
        sa.Column("first_days", sa.Integer(), nullable=True),
        sa.Column("is_after_fitting", sa.Boolean(), nullable=False),
        sa.Column("vehicle_kind", sa.Text(), nullable=True),
        sa.Column("vehicle_id", sa.Integer(), nullable=True),
        sa.Column("stage_name", sa.Text(), nullable=False),
        sa.Column("drive", sa.Text(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("void_reason", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_interval_rule_vehicle_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_interval_rule")),
    )
    op.create_table(
        "part",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("part_type_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.Text(), nullable=False),
        sa.Column("lot", sa.Text(), nullable=False),
        sa.Column("use_before", sa.Double(), nullable=False),
        sa.Column("is_history_known", sa.Boolean(), nullable=False),
        sa.Column("cost", sa.Double(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["part_type_id"],
            ["part_type.id"],
            name=op.f("fk_part_part_type_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_part")),
    )
    op.create_index(op.f("ix_part_part_type_id"), "part", ["part_type_id"], unique=False)
    op.create_index(
        "uq_part_label",
        "part",
        ["label"],
        unique=True,
        sqlite_where=sa.text("label <> ''"),
        postgresql_where=sa.text("label <> ''"),
    )
    op.create_table(
        "service_limit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("measurand", sa.Text(), nullable=False),
        sa.Column("wear_class", sa.Text(), nullable=False),
        sa.Column("service_limit", sa.Double(), nullable=False),
        sa.Column("as_new", sa.Double(), nullable=False),
        sa.Column("plan_share", sa.Double(), nullable=False),
        sa.Column("stop_use_limit", sa.Double(), nullable=True),
        sa.Column("designation", sa.Text(), nullable=False),
        sa.Column("model", sa.Text(), nullable=False),
        sa.Column("stage_name", sa.Text(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=True),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("void_reason", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_service_limit_vehicle_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_service_limit")),
    )
    op.create_table(
        "stage",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("order", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("drive", sa.Text(), nullable=False),
        sa.Column("centre_distance_mm", sa.Double(), nullable=True),
        sa.Column("adjuster_range_mm", sa.Double(), nullable=True),
        sa.Column("span_mm", sa.Double(), nullable=True),
        sa.Column("rated_input_rpm", sa.Double(), nullable=True),
        sa.Column("rated_power_kw", sa.Double(), nullable=True),
        sa.Column("wheel_circumference_mm", sa.Double(), nullable=True),
        sa.Column("slack_definition", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_stage_vehicle_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stage")),
    )
    op.create_index(op.f("ix_stage_vehicle_id"), "stage", ["vehicle_id"], unique=False)
    op.create_table(
        "visit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("total_use", sa.Double(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("tasks", sa.Text(), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("cost", sa.Double(), nullable=True),
        sa.Column("void_reason", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_visit_vehicle_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visit")),
    )
    op.create_index(op.f("ix_visit_vehicle_id"), "visit", ["vehicle_id"], unique=False)
    op.create_table(
        "installation",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("part_id", sa.Integer(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("stage_id", sa.Integer(), nullable=False),
        sa.Column("position", sa.Text(), nullable=False),
        sa.Column("fitted_on", sa.Date(), nullable=False),
        sa.Column("fitted_use", sa.Double(), nullable=False),
        sa.Column("removed_on", sa.Date(), nullable=True),
        sa.Column("removed_use", sa.Double(), nullable=True),
        sa.Column("removal_reason", sa.Text(), nullable=True),
        sa.Column("links", sa.Integer(), nullable=True),
        sa.Column("thread_lock", sa.Boolean(), nullable=True),
        sa.Column("cost", sa.Double(), nullable=True),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("void_reason", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["part_id"],
            ["part.id"],
            name=op.f("fk_installation_part_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["stage_id"],
            ["stage.id"],
            name=op.f("fk_installation_stage_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_installation_vehicle_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_installation")),
    )
    op.create_index(op.f("ix_installation_part_id"), "installation", ["part_id"], unique=False)
    op.create_index(op.f("ix_installation_stage_id"), "installation", ["stage_id"], unique=False)
    op.create_index(op.f("ix_installation_vehicle_id"), "installation", ["vehicle_id"], unique=False)
    op.create_table(
        "meter_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.Column("event", sa.Text(), nullable=False),
        sa.Column("old_value", sa.Double(), nullable=True),
        sa.Column("visit_id", sa.Integer(), nullable=True),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("void_reason", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_meter_entry_vehicle_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["visit_id"],
            ["visit.id"],
            name=op.f("fk_meter_entry_visit_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_meter_entry")),
    )
    op.create_index(op.f("ix_meter_entry_vehicle_id_on"), "meter_entry", ["vehicle_id", "on"], unique=False)
    op.create_index(op.f("ix_meter_entry_visit_id"), "meter_entry", ["visit_id"], unique=False)
    op.create_table(
        "reading",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("vehicle_id", sa.Integer(), nullable=False),
        sa.Column("stage_id", sa.Integer(), nullable=False),
        sa.Column("installation_id", sa.Integer(), nullable=True),
        sa.Column("visit_id", sa.Integer(), nullable=True),
        sa.Column("on", sa.Date(), nullable=False),
        sa.Column("total_use", sa.Double(), nullable=False),
        sa.Column("measurand", sa.Text(), nullable=False),
        sa.Column("method", sa.Text(), nullable=False),
        sa.Column("spots", sa.Text(), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("low", sa.Double(), nullable=True),
        sa.Column("high", sa.Double(), nullable=True),
        sa.Column("u_value", sa.Double(), nullable=False),
        sa.Column("mean", sa.Double(), nullable=True),
        sa.Column("spread", sa.Double(), nullable=True),
        sa.Column("pitches", sa.Integer(), nullable=True),
        sa.Column("instrument_id", sa.Integer(), nullable=True),
        sa.Column("temperature_degc", sa.Double(), nullable=True),
        sa.Column("load_n", sa.Double(), nullable=True),
        sa.Column("was_cleaned", sa.Boolean(), nullable=True),
        sa.Column("is_zero_reading", sa.Boolean(), nullable=False),
        sa.Column("definition", sa.Text(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("by", sa.Text(), nullable=False),
        sa.Column("is_late_entry", sa.Boolean(), nullable=False),
        sa.Column("void_reason", sa.Text(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["installation_id"],
            ["installation.id"],
            name=op.f("fk_reading_installation_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["instrument_id"],
            ["instrument.id"],
            name=op.f("fk_reading_instrument_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["stage_id"],
            ["stage.id"],
            name=op.f("fk_reading_stage_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["vehicle_id"],
            ["vehicle.id"],
            name=op.f("fk_reading_vehicle_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.ForeignKeyConstraint(
            ["visit_id"],
            ["visit.id"],
            name=op.f("fk_reading_visit_id"),
            onupdate="RESTRICT",
            ondelete="RESTRICT",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reading")),
    )
    op.create_index(op.f("ix_reading_installation_id"), "reading", ["installation_id"], unique=False)
    op.create_index(op.f("ix_reading_stage_id"), "reading", ["stage_id"], unique=False)
    op.create_index(op.f("ix_reading_vehicle_id"), "reading", ["vehicle_id"], unique=False)
    op.create_index(op.f("ix_reading_visit_id"), "reading", ["visit_id"], unique=False)
    op.execute("INSERT INTO data_version (id, value) VALUES (1, 0)")
