"""Documents with their versions, people with their sessions, and the audit trail."""

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects.postgresql import JSONB

from demoule.store.migrations.never_changed import never_changed

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """From nothing."""
    op.create_table(
        "document",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("slug", sa.String(80), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("rev", sa.Integer(), nullable=False),
        sa.Column("put_away", sa.Boolean(), nullable=False),
        sa.Column("branch_of_id", sa.Integer(), nullable=True),
        sa.Column("branch_of_n", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["branch_of_id"], ["document.id"], name="fk_document_branch_of_id_document"),
        sa.PrimaryKeyConstraint("id", name="pk_document"),
        sa.UniqueConstraint("kind", "slug", name="uq_document_kind_slug"),
    )
    op.create_table(
        "version",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("document_id", sa.Integer(), nullable=False),
        sa.Column("n", sa.Integer(), nullable=False),
        sa.Column("rev", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("parent", sa.Integer(), nullable=True),
        sa.Column("act", sa.String(20), nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("why", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["document_id"], ["document.id"], name="fk_version_document_id_document"),
        sa.PrimaryKeyConstraint("id", name="pk_version"),
        sa.UniqueConstraint("document_id", "n", name="uq_version_document_id_n"),
    )
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(80), nullable=False),
        sa.Column("folded", sa.String(80), nullable=False),
        sa.Column("shown", sa.String(200), nullable=False),
        sa.Column("role", sa.String(20), nullable=False),
        sa.Column("password_hash", sa.String(300), nullable=False),
        sa.Column("must_change", sa.Boolean(), nullable=False),
        sa.Column("since", MOMENT, nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_person"),
        sa.UniqueConstraint("folded", name="uq_person_folded"),
    )
    op.create_table(
        "attempt",
        sa.Column("folded", sa.String(80), nullable=False),
        sa.Column("failures", sa.Integer(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("wait_until", MOMENT, nullable=False),
        sa.PrimaryKeyConstraint("folded", name="pk_attempt"),
    )
    op.create_table(
        "session",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sa.String(64), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("begun", MOMENT, nullable=False),
        sa.Column("seen", MOMENT, nullable=False),
        sa.Column("expires", MOMENT, nullable=False),
        sa.Column("about", sa.String(200), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name="fk_session_person_id_person"),
        sa.PrimaryKeyConstraint("id", name="pk_session"),
        sa.UniqueConstraint("token_hash", name="uq_session_token_hash"),
    )
    op.create_index("ix_session_person_id", "session", ["person_id"])
    op.create_table(
        "audit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("act", sa.String(40), nullable=False),
        sa.Column("what", sa.String(300), nullable=False),
        sa.Column("details", sa.JSON().with_variant(JSONB(), "postgresql"), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_audit"),
    )
    op.create_index("ix_audit_at", "audit", ["at"])
    never_changed("version")
    never_changed("audit")
