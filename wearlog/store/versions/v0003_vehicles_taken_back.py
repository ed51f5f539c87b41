"""Keep why a vehicle was retired, when a stage went off service, and that adding either was taken back."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the columns."""
    for table, name in (("vehicle", "retired_reason"), ("vehicle", "void_reason"), ("stage", "void_reason")):
        op.add_column(table, sa.Column(name, sa.Text(), nullable=False, server_default=sa.text("''")))
    op.add_column("stage", sa.Column("retired_on", sa.Date(), nullable=True))
