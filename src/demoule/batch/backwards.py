"""From what must come out of each component to what must go in, the last component first."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from demoule.batch.around import surroundings
from demoule.batch.demand import Demand
from demoule.batch.kitchen import Kitchen
from demoule.batch.makings import pan_makings, whipping
from demoule.batch.rounding import weigh_line
from demoule.batch.weighing import NeedOf, WeighLine
from demoule.figures import Finding, Severity
from demoule.formula import Component, Cooked, cook_kept, in_masses, in_order, scaled
from demoule.formula.hands import weighing_time
from demoule.larder import Ingredient, Larder
from demoule.memory import Memory
from demoule.units import Fraction, Kilogram

__all__ = ["Backwards"]

_FUZZ = 1e-9
_HEARTS = frozenset({"heart", "inner heart"})
_SKINS = frozenset({"shell", "spray"})
_CLOSE = 0.15


@dataclass(frozen=True, slots=True)
class _Size:
    """Makings of one component: how often, one of them cooked in its size, and the vessel."""

    makings: int
    one: Cooked
    vessel: str


class Backwards:
    """Works out the makings of all components, and adds up what is weighed for them.

    After `work_out`: `things` are the ingredients by name, `weighed` their masses for all makings and `consumed` what
    of them does not come back from baths, guns and sheets [kg].
    """

    def __init__(
        self,
        components: Sequence[Component],
        cooked: Mapping[str, Cooked],
        asked: Mapping[str, Demand],
        kitchen: Kitchen,
        larder: Larder,
        memory: Memory,
    ) -> None:
        self.order = in_order(components)
        self.cooked = cooked
        self.asked = asked
        self.kitchen = kitchen
        self.larder = larder
        self.memory = memory
        self.around = surroundings(kitchen)
        self.names = {component.name.casefold(): component.name for component in components}
        self.into: dict[str, Kilogram] = {}
        self.net_into: dict[str, Kilogram] = {}
        self.things: dict[str, Ingredient] = {}
        self.weighed: dict[str, Kilogram] = {}
        self.consumed: dict[str, Kilogram] = {}
        self.findings: list[Finding] = []

    def work_out(self, cycles: int, heart_cycles: int) -> tuple[NeedOf, ...]:
        """The needs of all components, in the order of work.

        Parameters
        ----------
        cycles, heart_cycles
            Fillings of the piece's mould and of the heart's.
        """
        needs: list[NeedOf] = []
        for component in reversed(self.order):
            demand = self.asked.get(component.name) or Demand(component=component.name)
            into = self.into.get(component.name, 0.0)
            if demand.used + into <= 0:
                self._say_unused(component)
                continue
            if demand.discs and self.cooked[component.name].cut is not None:
                size = self._sheets(component, demand)
            else:
                tied = cycles if "body" in demand.roles else heart_cycles if demand.roles & _HEARTS else 1
                size = self._sized(component, demand.used + into, max(tied, 1))
            needs.append(self._enter(component, demand, into, size))
        return tuple(reversed(needs))

    def weigh(self, ingredient: Ingredient, mass: Kilogram, kept: Fraction) -> None:
        """Add to what is weighed of an ingredient, and the share of it that does not come back."""
        self.things[ingredient.name] = ingredient
        self.weighed[ingredient.name] = self.weighed.get(ingredient.name, 0.0) + mass
        self.consumed[ingredient.name] = self.consumed.get(ingredient.name, 0.0) + mass * kept

    # ---- sizes

    def _cook(self, component: Component) -> Cooked:
        return cook_kept(component, self.larder, self.cooked, self.around, self.memory)

    def _sized(self, component: Component, total: Kilogram, tied: int) -> _Size:
        """Makings that give a total, as many as moulds and pans ask for."""
        made = self.cooked[component.name]
        by_pan, pan = pan_makings(component, made, total / tied / made.mass, self.kitchen.pans)
        makings = tied * by_pan
        bare = in_masses(component, made, self.cooked)
        one = self._cook(replace(bare, to_make=total / makings))
        bowl, findings = whipping(component, one, self.kitchen)
        self.findings += findings
        return _Size(makings, one, ", ".join(filter(None, (pan, bowl))))

    def _sheets(self, component: Component, demand: Demand) -> _Size:
        """Whole sheets, and what their discs leave: offcuts, and discs to spare."""
        made = self.cooked[component.name]
        assert made.cut is not None  # asked only then
        sheets = max(math.ceil(demand.discs / made.cut.count - _FUZZ), 1)
        makings = math.ceil(sheets / max(self.kitchen.oven_levels, 1))
        each = math.ceil(sheets / makings)
        sheets = each * makings
        one = self._cook(scaled(in_masses(component, made, self.cooked), each))
        given = one.mass * makings
        per_disc = given / (sheets * made.cut.count)
        net = per_disc * (1 - made.cut.offcuts) if made.cut.offcuts is not None else demand.on_pieces / demand.discs
        self._check_disc(component, demand.on_pieces / demand.discs, net, per_disc)
        spare = sheets * made.cut.count - demand.discs
        demand.comes_back += min(spare * net, max(given - demand.on_pieces, 0.0))
        demand.lose("offcuts", given - demand.used)
        return _Size(makings, one, f"{each} sheet{'s' if each > 1 else ''}")

    def _check_disc(self, component: Component, on_piece: Kilogram, net: Kilogram, per_disc: Kilogram) -> None:
        """Say when a disc on the piece cannot be one of the sheet."""
        if abs(on_piece - net) <= _CLOSE * net and on_piece <= per_disc * (1 + _FUZZ):
            return
        self.findings.append(
            Finding(
                severity=Severity.CAUTION,
                rule="discs",
                where=component.where or f"components.{component.name}",
                says=f"A disc on the piece weighs {on_piece * 1000:.2f} g; cut from the sheet it would weigh "
                f"{net * 1000:.2f} g.",
                why="The mass of the piece and the number of discs of a sheet do not go together.",
                remedy="weigh a baked disc, or count the discs of a sheet again.",
            )
        )

    # ---- entering

    def _enter(self, component: Component, demand: Demand, into: Kilogram, size: _Size) -> NeedOf:
        makings, one = size.makings, size.one
        total = demand.used + into
        net = demand.used - demand.comes_back + self.net_into.get(component.name, 0.0)
        kept = net / total
        # Melting, tinting and straining belong to setting up the dip and the gun, and are counted there.
        melted_for_skin = bool(demand.roles) and demand.roles <= _SKINS and not into
        lines: list[WeighLine] = []
        for written, (what, mass) in zip(component.weighed, one.weighed, strict=True):
            name = self.names.get(what.casefold())
            if name is not None:
                self._pass_on(name, mass * makings, kept)
                lines.append(weigh_line(what, mass, None))
                continue
            ingredient = self.larder.find(what)
            self.weigh(ingredient, mass * makings, kept)
            lines.append(weigh_line(what, mass, ingredient, counted=written.amount.count is not None))
        for left in one.left_over:
            self._pass_on(left.what, left.used * makings, kept)
        return NeedOf(
            component=component.name,
            makings=makings,
            factor=one.entered / self.cooked[component.name].entered,
            on_pieces=demand.on_pieces,
            used=total,
            comes_back=demand.comes_back,
            lost=tuple(demand.lost.items()),
            lines=tuple(lines),
            gives=one.mass,
            hands_on=weighing_time(component) if melted_for_skin else one.hands_on,
            vessel=", ".join(filter(None, (size.vessel, demand.vessel))),
            cooking_losses=tuple((loss.cause, loss.mass * makings) for loss in one.losses),
            discs=demand.discs,
            into_components=into,
        )

    def _pass_on(self, name: str, mass: Kilogram, kept: Fraction) -> None:
        self.into[name] = self.into.get(name, 0.0) + mass
        self.net_into[name] = self.net_into.get(name, 0.0) + mass * kept

    def _say_unused(self, component: Component) -> None:
        self.findings.append(
            Finding(
                severity=Severity.NOTE,
                rule="not used",
                where=component.where or f"components.{component.name}",
                says=f"“{component.name}” goes into no piece and no other component.",
                why="It is neither made nor bought.",
                remedy="build it into the piece, or take it out of the file.",
            )
        )
