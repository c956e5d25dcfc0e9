"""What ingredients cost, and since which day."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING

from sqlalchemy import Select, select
from sqlalchemy.exc import IntegrityError

from demoule.errors import BadInput, UnknownName
from demoule.store.audit import trace
from demoule.store.tables import PriceRow
from demoule.store.texts import checked_key, line
from demoule.store.trouble import AlreadyThere
from demoule.store.values import By
from demoule.units import CURRENCIES, Kilogram

if TYPE_CHECKING:
    from demoule.store.database import Database

__all__ = ["Price", "Prices"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What a pack costs from a day on, until a later price of the same item.

    Parameters
    ----------
    price
        Of the whole pack, in `currency`.
    mass
        Of the pack [kg].
    """

    item: str
    price: float
    currency: str
    mass: Kilogram
    from_day: date
    supplier: str
    pack: str
    who: str
    at: datetime

    @property
    def per_kg(self) -> float:
        """Price of 1 kg."""
        return self.price / self.mass


class Prices:
    """All prices that were ever noted; a wrong one is put right by a new one of the same day."""

    def __init__(self, database: Database) -> None:
        self._database = database

    def add(
        self,
        item: str,
        by: By,
        *,
        price: float,
        currency: str,
        mass: Kilogram,
        from_day: date,
        supplier: str = "",
        pack: str = "",
        key: str = "",
    ) -> Price:
        """Note a price; one sent again with its key is noted once.

        Raises
        ------
        BadInput
            When a number cannot be a price or a mass.
        AlreadyThere
            When the key stands for another price.
        """
        if not (math.isfinite(price) and price >= 0):
            raise BadInput(f"{price} cannot be a price.", where=item, remedy="give the price of the whole pack.")
        if not (math.isfinite(mass) and mass > 0):
            raise BadInput(f"{mass} kg cannot be the mass of a pack.", where=item, remedy="give what the pack holds.")
        if currency not in CURRENCIES:
            raise UnknownName("currency", currency, CURRENCIES, where=item)
        values = {
            "item": line(item, "name of the ingredient", needed=True),
            "price": float(price),
            "currency": currency,
            "mass": float(mass),
            "from_day": from_day,
            "supplier": line(supplier, "supplier"),
            "pack": line(pack, "pack"),
        }
        sent = checked_key(key)
        try:
            with self._database.write() as session:
                row = self._sent(session.scalars(_with_key(sent)).one_or_none() if sent else None, values)
                if row is None:
                    row = PriceRow(**values, who=by.who, at=by.at, key=sent)
                    session.add(row)
                    told = {"price": price, "currency": currency, "mass_kg": mass, "from": from_day.isoformat()}
                    trace(session, by, "priced", f"price {values['item']}", told)
                    session.flush()
                return _price(row)
        except IntegrityError:  # two at once with one key
            with self._database.read() as session:
                row = self._sent(session.scalars(_with_key(sent)).one_or_none(), values)
                if row is None:
                    raise
                return _price(row)

    @staticmethod
    def _sent(row: PriceRow | None, values: dict[str, object]) -> PriceRow | None:
        if row is not None and any(getattr(row, name) != value for name, value in values.items()):
            raise AlreadyThere("This key stands for another price.", where=row.item, remedy="send a new key.")
        return row

    def on(self, item: str, day: date) -> Price | None:
        """The price that holds on a day; None when none was noted by then."""
        query = select(PriceRow).where(PriceRow.item == item, PriceRow.from_day <= day)
        with self._database.read() as session:
            row = session.scalars(query.order_by(PriceRow.from_day.desc(), PriceRow.id.desc()).limit(1)).one_or_none()
            return None if row is None else _price(row)

    def of(self, item: str) -> tuple[Price, ...]:
        """Every price of an item, the latest day first; of one day the last noted first."""
        query = select(PriceRow).where(PriceRow.item == item)
        with self._database.read() as session:
            rows = session.scalars(query.order_by(PriceRow.from_day.desc(), PriceRow.id.desc()))
            return tuple(_price(row) for row in rows)

    def all_on(self, day: date) -> dict[str, Price]:
        """The price of every item on a day."""
        query = select(PriceRow).where(PriceRow.from_day <= day).order_by(PriceRow.from_day, PriceRow.id)
        with self._database.read() as session:
            return {row.item: _price(row) for row in session.scalars(query)}


def _with_key(key: str | None) -> Select[PriceRow]:
    return select(PriceRow).where(PriceRow.key == key)


def _price(row: PriceRow) -> Price:
    return Price(
        item=row.item,
        price=row.price,
        currency=row.currency,
        mass=row.mass,
        from_day=row.from_day,
        supplier=row.supplier,
        pack=row.pack,
        who=row.who,
        at=row.at,
    )
