"""The journal in one chain with the events, signed events, enrolled tablets.

Revision: 0003, after 0002
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from api.storage import triggers

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

moment = sa.String(27)


def upgrade() -> None:
    _create_tables()
    # Plain additions, so that no guarded row is written again.
    op.add_column("event", sa.Column("sig", sa.String(), nullable=True))
    op.add_column("event", sa.Column("form", sa.Integer(), nullable=False, server_default="1"))
    op.add_column("set_aside", sa.Column("sig", sa.String(), nullable=True))
    op.add_column("signature", sa.Column("sealed", sa.String(), nullable=False, server_default=""))
    op.create_index("ix_signature_sealed", "signature", ["sealed"], unique=False)
    op.add_column("office_session", sa.Column("seen_at", moment, nullable=True))
    op.add_column("tablet", sa.Column("name", sa.String(), nullable=False, server_default=""))
    for name in ("key", "enrolled_by", "revoked_by"):
        op.add_column("tablet", sa.Column(name, sa.String(), nullable=True))
    for name in ("enrolled_at", "revoked_at", "forked_at"):
        op.add_column("tablet", sa.Column(name, moment, nullable=True))
    triggers.create(op.get_bind(), ("journal", "set_aside"))


def downgrade() -> None:
    raise RuntimeError("a database only goes forward; restore a backup instead")


def _create_tables() -> None:
    op.create_table(
        "journal",
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("at", moment, nullable=False),
        sa.Column("by", sa.String(), nullable=True),
        sa.Column("chain", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("seq", name="pk_journal"),
    )
    op.create_index("ix_journal_kind_subject", "journal", ["kind", "subject"], unique=False)
    op.create_table(
        "enrol_code",
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.Column("made_at", moment, nullable=False),
        sa.Column("expires_at", moment, nullable=False),
        sa.Column("uses_left", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_enrol_code"),
    )
    op.create_table(
        "tablet_session",
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("tablet", sa.String(), nullable=False),
        sa.Column("opened_at", moment, nullable=False),
        sa.Column("expires_at", moment, nullable=False),
        sa.PrimaryKeyConstraint("digest", name="pk_tablet_session"),
        sa.ForeignKeyConstraint(["tablet"], ["tablet.id"], name="fk_tablet_session_tablet"),
    )
    op.create_index("ix_tablet_session_tablet", "tablet_session", ["tablet"], unique=False)
    op.create_index("ix_tablet_session_expires_at", "tablet_session", ["expires_at"], unique=False)
