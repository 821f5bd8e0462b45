"""Computations of designs: a queue and their results.

Revision: 0002, after 0001
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

moment = sa.String(27)


def upgrade() -> None:
    op.create_table(
        "analysis",
        sa.Column("inputs", sa.String(), nullable=False),
        sa.Column("method", sa.String(), nullable=False),
        sa.Column("design", sa.String(), nullable=False),
        sa.Column("revision", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("progress", sa.Float(), nullable=False),
        sa.Column("doing", sa.Text(), nullable=False),
        sa.Column("failure", sa.Text(), nullable=True),
        sa.Column("result", sa.Text(), nullable=False),
        sa.Column("asked_at", moment, nullable=False),
        sa.Column("at", moment, nullable=False),
        sa.PrimaryKeyConstraint("inputs", name="pk_analysis"),
    )
    op.create_index("ix_analysis_design_revision", "analysis", ["design", "revision"], unique=False)
    op.create_index("ix_analysis_state", "analysis", ["state"], unique=False)


def downgrade() -> None:
    raise RuntimeError("a database only goes forward; restore a backup instead")
