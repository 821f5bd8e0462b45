"""The first tables: designs, plates, stores, crew, the event log and its projections.

Revision: 0001, after nothing
"""

from __future__ import annotations

import uuid

import sqlalchemy as sa
from alembic import op

from api.storage import triggers

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

moment = sa.String(27)


def upgrade() -> None:
    _create_tables()
    triggers.create(op.get_bind(), ("event", "store_item"))
    op.bulk_insert(
        sa.table("counter", sa.column("name"), sa.column("value")),
        [{"name": "seq", "value": 0}, {"name": "shop", "value": 1}],
    )
    op.bulk_insert(
        sa.table("shop_meta", sa.column("name"), sa.column("value")),
        [{"name": "name", "value": ""}, {"name": "epoch", "value": str(uuid.uuid4())}],
    )


def downgrade() -> None:
    raise RuntimeError("a database only goes forward; restore a backup instead")


def _create_tables() -> None:
    op.create_table(
        "counter",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("value", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_counter"),
    )
    op.create_table(
        "design_revision",
        sa.Column("code", sa.String(), nullable=False),
        sa.Column("revision", sa.String(), nullable=False),
        sa.Column("title", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("source", sa.Text(), nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("sheet", sa.Text(), nullable=False),
        sa.Column("loaded_by", sa.String(), nullable=False),
        sa.Column("loaded_at", moment, nullable=False),
        sa.Column("released_by", sa.String(), nullable=True),
        sa.Column("released_at", moment, nullable=True),
        sa.Column("withdrawn_by", sa.String(), nullable=True),
        sa.Column("withdrawn_at", moment, nullable=True),
        sa.PrimaryKeyConstraint("code", "revision", name="pk_design_revision"),
    )
    op.create_table(
        "event",
        sa.Column("seq", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("tablet", sa.String(), nullable=False),
        sa.Column("n", sa.BigInteger(), nullable=False),
        sa.Column("setup", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("step", sa.String(), nullable=True),
        sa.Column("person", sa.String(), nullable=True),
        sa.Column("at", moment, nullable=False),
        sa.Column("received_at", moment, nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("chain", sa.String(), nullable=False),
        sa.Column("outcome", sa.String(), nullable=False),
        sa.Column("flags", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("seq", name="pk_event"),
        sa.UniqueConstraint("id", name="uq_event_id"),
        sa.UniqueConstraint("tablet", "n", name="uq_event_tablet_n"),
    )
    op.create_index("ix_event_person", "event", ["person"], unique=False)
    op.create_index("ix_event_setup_seq", "event", ["setup", "seq"], unique=False)
    op.create_table(
        "person",
        sa.Column("badge", sa.String(), nullable=False),
        sa.Column("role", sa.String(), nullable=False),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("badge", name="pk_person"),
    )
    op.create_table(
        "plate",
        sa.Column("serial", sa.String(), nullable=False),
        sa.Column("design", sa.String(), nullable=False),
        sa.Column("held", sa.Text(), nullable=True),
        sa.Column("cleared", sa.String(), nullable=True),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("serial", name="pk_plate"),
    )
    op.create_index("ix_plate_design", "plate", ["design"], unique=False)
    op.create_table(
        "reading",
        sa.Column("event", sa.String(), nullable=False),
        sa.Column("setup", sa.String(), nullable=False),
        sa.Column("plate", sa.String(), nullable=False),
        sa.Column("point", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("value_mm", sa.Float(), nullable=False),
        sa.Column("value", sa.String(), nullable=False),
        sa.Column("unit", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("indicator", sa.String(), nullable=False),
        sa.Column("person", sa.String(), nullable=True),
        sa.Column("at", moment, nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("entry", sa.Integer(), nullable=False),
        sa.Column("final", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("event", name="pk_reading"),
    )
    op.create_index(
        "ix_reading_plate_point_state", "reading", ["plate", "point", "state"], unique=False
    )
    op.create_index("ix_reading_setup", "reading", ["setup"], unique=False)
    op.create_table(
        "set_aside",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("escaped", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("tablet", sa.String(), nullable=False),
        sa.Column("received_at", moment, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_set_aside"),
        sa.UniqueConstraint("hash", name="uq_set_aside_hash"),
    )
    op.create_table(
        "setup",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("plate", sa.String(), nullable=False),
        sa.Column("design", sa.String(), nullable=False),
        sa.Column("revision", sa.String(), nullable=False),
        sa.Column("phase", sa.String(), nullable=False),
        sa.Column("opened_at", moment, nullable=False),
        sa.Column("opened_by", sa.String(), nullable=True),
        sa.Column("last_at", moment, nullable=False),
        sa.Column("last_seq", sa.BigInteger(), nullable=False),
        sa.Column("events", sa.Integer(), nullable=False),
        sa.Column("tablet", sa.String(), nullable=False),
        sa.Column("person", sa.String(), nullable=True),
        sa.Column("step", sa.String(), nullable=True),
        sa.Column("tool", sa.String(), nullable=True),
        sa.Column("indicator", sa.String(), nullable=True),
        sa.Column("judgement", sa.String(), nullable=True),
        sa.Column("signed_by", sa.String(), nullable=True),
        sa.Column("signature", sa.String(), nullable=True),
        sa.Column("greased", sa.Boolean(), nullable=False),
        sa.Column("baseline", sa.Boolean(), nullable=False),
        sa.Column("movers", sa.Integer(), nullable=False),
        sa.Column("troubles", sa.Text(), nullable=False),
        sa.Column("flags", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_setup"),
    )
    op.create_index("ix_setup_design", "setup", ["design"], unique=False)
    op.create_index("ix_setup_opened_at", "setup", ["opened_at"], unique=False)
    op.create_index("ix_setup_plate", "setup", ["plate"], unique=False)
    op.create_table(
        "shop_meta",
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_shop_meta"),
    )
    op.create_table(
        "store_item",
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("at", moment, nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("kind", "key", "n", name="pk_store_item"),
    )
    op.create_table(
        "tablet",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("first_seen", moment, nullable=False),
        sa.Column("last_seen", moment, nullable=False),
        sa.Column("build", sa.String(), nullable=False),
        sa.Column("contiguous", sa.BigInteger(), nullable=False),
        sa.Column("highest", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_tablet"),
    )
    op.create_table(
        "tool_use",
        sa.Column("setup", sa.String(), nullable=False),
        sa.Column("tool", sa.String(), nullable=False),
        sa.Column("pulls", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("setup", "tool", name="pk_tool_use"),
    )
    op.create_table(
        "credential",
        sa.Column("badge", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("hash", sa.String(), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("locked_until", moment, nullable=True),
        sa.ForeignKeyConstraint(["badge"], ["person.badge"], name="fk_credential_badge"),
        sa.PrimaryKeyConstraint("badge", "kind", name="pk_credential"),
    )
    op.create_table(
        "office_session",
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("badge", sa.String(), nullable=False),
        sa.Column("opened_at", moment, nullable=False),
        sa.Column("expires_at", moment, nullable=False),
        sa.ForeignKeyConstraint(["badge"], ["person.badge"], name="fk_office_session_badge"),
        sa.PrimaryKeyConstraint("digest", name="pk_office_session"),
    )
    op.create_index("ix_office_session_badge", "office_session", ["badge"], unique=False)
    op.create_index("ix_office_session_expires_at", "office_session", ["expires_at"], unique=False)
    op.create_table(
        "plate_hold",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("plate", sa.String(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("by", sa.String(), nullable=False),
        sa.Column("at", moment, nullable=False),
        sa.Column("freed_by", sa.String(), nullable=True),
        sa.Column("freed_at", moment, nullable=True),
        sa.ForeignKeyConstraint(["plate"], ["plate.serial"], name="fk_plate_hold_plate"),
        sa.PrimaryKeyConstraint("id", name="pk_plate_hold"),
    )
    op.create_index("ix_plate_hold_plate", "plate_hold", ["plate"], unique=False)
    op.create_table(
        "signature",
        sa.Column("event", sa.String(), nullable=False),
        sa.Column("setup", sa.String(), nullable=False),
        sa.Column("person", sa.String(), nullable=False),
        sa.Column("meaning", sa.String(), nullable=False),
        sa.Column("verdict", sa.String(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=True),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("retry_at", moment, nullable=True),
        sa.ForeignKeyConstraint(["event"], ["event.id"], name="fk_signature_event"),
        sa.PrimaryKeyConstraint("event", name="pk_signature"),
        sa.UniqueConstraint("seq", name="uq_signature_seq"),
    )
    op.create_index("ix_signature_retry_at", "signature", ["retry_at"], unique=False)
    op.create_index("ix_signature_setup", "signature", ["setup"], unique=False)
