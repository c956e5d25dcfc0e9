"""Prices with dates, what happened, lots, drafts, and the key by which a save is sent once."""

import sqlalchemy as sa
from alembic import op

from demoule.store.migrations.never_changed import never_changed

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """From documents alone."""
    op.add_column("version", sa.Column("key", sa.String(80), nullable=True))
    op.create_index("ix_version_document_id_key", "version", ["document_id", "key"], unique=True)
    op.create_table(
        "draft",
        sa.Column("document_id", sa.Integer(), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("rev", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["document_id"], ["document.id"], name="fk_draft_document_id_document"),
        sa.PrimaryKeyConstraint("document_id", "who", name="pk_draft"),
    )
    op.create_table(
        "price",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("item", sa.String(200), nullable=False),
        sa.Column("price", sa.Float(), nullable=False),
        sa.Column("currency", sa.String(3), nullable=False),
        sa.Column("mass", sa.Float(), nullable=False),
        sa.Column("from_day", sa.Date(), nullable=False),
        sa.Column("supplier", sa.String(200), nullable=False),
        sa.Column("pack", sa.String(200), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("key", sa.String(80), nullable=True),
        sa.PrimaryKeyConstraint("id", name="pk_price"),
        sa.UniqueConstraint("key", name="uq_price_key"),
    )
    op.create_index("ix_price_item_from_day", "price", ["item", "from_day"])
    op.create_table(
        "happening",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(80), nullable=False),
        sa.Column("book", sa.String(80), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("task", sa.String(200), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("start", MOMENT, nullable=True),
        sa.Column("end", MOMENT, nullable=True),
        sa.Column("mass", sa.Float(), nullable=True),
        sa.Column("temperature", sa.Float(), nullable=True),
        sa.Column("pieces", sa.Integer(), nullable=True),
        sa.Column("lot", sa.String(80), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("replaces", sa.String(80), nullable=False),
        sa.Column("written_by", sa.String(200), nullable=False),
        sa.Column("written_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_happening"),
        sa.UniqueConstraint("key", name="uq_happening_key"),
    )
    op.create_index("ix_happening_book_day", "happening", ["book", "day"])
    op.create_index("ix_happening_replaces", "happening", ["replaces"])
    op.create_table(
        "lot",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(80), nullable=False),
        sa.Column("what", sa.String(200), nullable=False),
        sa.Column("made", MOMENT, nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("document", sa.String(80), nullable=False),
        sa.Column("version", sa.Integer(), nullable=True),
        sa.Column("pieces", sa.Integer(), nullable=True),
        sa.Column("mass", sa.Float(), nullable=True),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("place", sa.String(200), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("written_by", sa.String(200), nullable=False),
        sa.Column("written_at", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_lot"),
        sa.UniqueConstraint("code", name="uq_lot_code"),
    )
    op.create_table(
        "lot_part",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("lot_id", sa.Integer(), nullable=False),
        sa.Column("part", sa.String(80), nullable=False),
        sa.ForeignKeyConstraint(["lot_id"], ["lot.id"], name="fk_lot_part_lot_id_lot"),
        sa.PrimaryKeyConstraint("id", name="pk_lot_part"),
        sa.UniqueConstraint("lot_id", "part", name="uq_lot_part_lot_id_part"),
    )
    op.create_index("ix_lot_part_part", "lot_part", ["part"])
    for table in ("price", "happening", "lot", "lot_part"):
        never_changed(table)
