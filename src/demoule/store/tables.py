"""The tables of the memory: documents as text with their versions, what happened, and people."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Date,
    DateTime,
    Dialect,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Text,
    TypeDecorator,
    UniqueConstraint,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship
from sqlalchemy.types import TypeEngine

__all__ = [
    "APPEND_ONLY",
    "AttemptRow",
    "AuditRow",
    "Base",
    "DocumentRow",
    "DraftRow",
    "HappeningRow",
    "LotPartRow",
    "LotRow",
    "PersonRow",
    "PriceRow",
    "SessionRow",
    "UtcTime",
    "VersionRow",
]

APPEND_ONLY = ("version", "audit", "price", "happening", "lot", "lot_part")
"""Tables whose rows are never changed nor deleted; the database itself refuses it."""


class AnyJson(TypeDecorator[dict[str, Any]]):
    """JSON, in the form that a database searches best; another database's part is not loaded for it."""

    impl = JSON
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        """JSONB in PostgreSQL."""
        if dialect.name != "postgresql":
            return dialect.type_descriptor(JSON())
        from sqlalchemy.dialects.postgresql import JSONB

        return dialect.type_descriptor(JSONB())


class UtcTime(TypeDecorator[datetime]):
    """A moment in UTC; comes back with its time zone from every database."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """To UTC; a moment without a time zone is refused."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs its time zone")
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:  # noqa: ARG002  (the name is theirs)
        """With the time zone."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Base(DeclarativeBase):
    """All tables; constraints have names, so that a migration can find them."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


class DocumentRow(Base):
    """A dessert, a kitchen or an order book: which version stands."""

    __tablename__ = "document"
    __table_args__ = (UniqueConstraint("kind", "slug"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    kind: Mapped[str] = mapped_column(String(20))
    slug: Mapped[str] = mapped_column(String(80))
    name: Mapped[str] = mapped_column(String(200))
    n: Mapped[int] = mapped_column(Integer)
    rev: Mapped[int] = mapped_column(Integer, nullable=False)
    put_away: Mapped[bool] = mapped_column(Boolean, default=False)
    branch_of_id: Mapped[int | None] = mapped_column(ForeignKey("document.id"))
    branch_of_n: Mapped[int | None] = mapped_column(Integer)
    branch_of: Mapped[DocumentRow | None] = relationship(remote_side=[id])

    __mapper_args__ = {"version_id_col": rev}  # noqa: RUF012  (read once by the mapper)


class VersionRow(Base):
    """One version of a document, as typed."""

    __tablename__ = "version"
    __table_args__ = (
        UniqueConstraint("document_id", "n"),
        Index("ix_version_document_id_key", "document_id", "key", unique=True),
    )

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    document_id: Mapped[int] = mapped_column(ForeignKey("document.id"))
    n: Mapped[int] = mapped_column(Integer)
    rev: Mapped[int] = mapped_column(Integer)
    name: Mapped[str] = mapped_column(String(200))
    text: Mapped[str] = mapped_column(Text)
    digest: Mapped[str] = mapped_column(String(64))
    parent: Mapped[int | None] = mapped_column(Integer)
    act: Mapped[str] = mapped_column(String(20))
    who: Mapped[str] = mapped_column(String(200))
    at: Mapped[datetime] = mapped_column(UtcTime)
    why: Mapped[str] = mapped_column(Text)
    key: Mapped[str | None] = mapped_column(String(80))


class DraftRow(Base):
    """What a person has typed and not saved."""

    __tablename__ = "draft"

    document_id: Mapped[int] = mapped_column(ForeignKey("document.id"), primary_key=True)
    who: Mapped[str] = mapped_column(String(200), primary_key=True)
    text: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime] = mapped_column(UtcTime)
    rev: Mapped[int] = mapped_column(Integer)


class PriceRow(Base):
    """What a pack of an ingredient costs from a day on."""

    __tablename__ = "price"
    __table_args__ = (Index("ix_price_item_from_day", "item", "from_day"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    item: Mapped[str] = mapped_column(String(200))
    price: Mapped[float] = mapped_column(Float)
    currency: Mapped[str] = mapped_column(String(3))
    mass: Mapped[float] = mapped_column(Float)
    from_day: Mapped[date] = mapped_column(Date)
    supplier: Mapped[str] = mapped_column(String(200))
    pack: Mapped[str] = mapped_column(String(200))
    who: Mapped[str] = mapped_column(String(200))
    at: Mapped[datetime] = mapped_column(UtcTime)
    key: Mapped[str | None] = mapped_column(String(80), unique=True)


class HappeningRow(Base):
    """One thing that happened at the bench; the key is the client's, so that sending twice writes once."""

    __tablename__ = "happening"
    __table_args__ = (Index("ix_happening_book_day", "book", "day"), Index("ix_happening_replaces", "replaces"))

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    key: Mapped[str] = mapped_column(String(80), unique=True)
    book: Mapped[str] = mapped_column(String(80))
    day: Mapped[date] = mapped_column(Date)
    task: Mapped[str] = mapped_column(String(200))
    kind: Mapped[str] = mapped_column(String(20))
    who: Mapped[str] = mapped_column(String(200))
    at: Mapped[datetime] = mapped_column(UtcTime)
    start: Mapped[datetime | None] = mapped_column(UtcTime)
    end: Mapped[datetime | None] = mapped_column(UtcTime)
    mass: Mapped[float | None] = mapped_column(Float)
    temperature: Mapped[float | None] = mapped_column(Float)
    pieces: Mapped[int | None] = mapped_column(Integer)
    lot: Mapped[str] = mapped_column(String(80))
    note: Mapped[str] = mapped_column(Text)
    replaces: Mapped[str] = mapped_column(String(80))
    written_by: Mapped[str] = mapped_column(String(200))
    written_at: Mapped[datetime] = mapped_column(UtcTime)


class LotRow(Base):
    """One making of a dessert or a component."""

    __tablename__ = "lot"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    code: Mapped[str] = mapped_column(String(80), unique=True)
    what: Mapped[str] = mapped_column(String(200))
    made: Mapped[datetime] = mapped_column(UtcTime)
    who: Mapped[str] = mapped_column(String(200))
    document: Mapped[str] = mapped_column(String(80))
    version: Mapped[int | None] = mapped_column(Integer)
    pieces: Mapped[int | None] = mapped_column(Integer)
    mass: Mapped[float | None] = mapped_column(Float)
    until: Mapped[date | None] = mapped_column(Date)
    place: Mapped[str] = mapped_column(String(200))
    note: Mapped[str] = mapped_column(Text)
    written_by: Mapped[str] = mapped_column(String(200))
    written_at: Mapped[datetime] = mapped_column(UtcTime)


class LotPartRow(Base):
    """What went into a lot: another lot's code, or a supplier's."""

    __tablename__ = "lot_part"
    __table_args__ = (UniqueConstraint("lot_id", "part"), Index("ix_lot_part_part", "part"))

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    lot_id: Mapped[int] = mapped_column(ForeignKey("lot.id"))
    part: Mapped[str] = mapped_column(String(80))


class PersonRow(Base):
    """A person who may sign in."""

    __tablename__ = "person"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    name: Mapped[str] = mapped_column(String(80))
    folded: Mapped[str] = mapped_column(String(80), unique=True)
    shown: Mapped[str] = mapped_column(String(200))
    role: Mapped[str] = mapped_column(String(20))
    password_hash: Mapped[str] = mapped_column(String(300))
    must_change: Mapped[bool] = mapped_column(Boolean, default=False)
    since: Mapped[datetime] = mapped_column(UtcTime)
    removed: Mapped[bool] = mapped_column(Boolean, default=False)


class AttemptRow(Base):
    """Wrong passwords in a row for a name, whether anyone bears the name or not."""

    __tablename__ = "attempt"

    folded: Mapped[str] = mapped_column(String(80), primary_key=True)
    failures: Mapped[int] = mapped_column(Integer)
    at: Mapped[datetime] = mapped_column(UtcTime)
    wait_until: Mapped[datetime] = mapped_column(UtcTime)


class SessionRow(Base):
    """One signed-in browser; only the hash of its token is kept."""

    __tablename__ = "session"

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    token_hash: Mapped[str] = mapped_column(String(64), unique=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    begun: Mapped[datetime] = mapped_column(UtcTime)
    seen: Mapped[datetime] = mapped_column(UtcTime)
    expires: Mapped[datetime] = mapped_column(UtcTime)
    about: Mapped[str] = mapped_column(String(200))


class AuditRow(Base):
    """One act that changed something, or a sign-in."""

    __tablename__ = "audit"
    __table_args__ = (Index("ix_audit_at", "at"),)

    id: Mapped[int] = mapped_column(Integer, primary_key=True)
    at: Mapped[datetime] = mapped_column(UtcTime)
    who: Mapped[str] = mapped_column(String(200))
    act: Mapped[str] = mapped_column(String(40))
    what: Mapped[str] = mapped_column(String(300))
    details: Mapped[dict[str, Any]] = mapped_column(AnyJson)
