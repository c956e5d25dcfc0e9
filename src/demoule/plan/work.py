"""From the stages' results to the work of one lot: jobs, lags and what is held. Nothing is described twice."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from demoule.batch import NeedOf, Weighing
from demoule.cold import StageRun
from demoule.formula import Component
from demoule.piece.design import Mould
from demoule.plan.places import PLACE, hard_within, pieces_a_level, places, take_out, weighed
from demoule.plan.steps import KEEPS, Turn, turns
from demoule.plan.week import Demand, Hold, Job, Lag, Lot, Part, Resource, Use, seconds_down, seconds_up
from demoule.units import Second
from demoule.worked import Worked

__all__ = ["lot_of"]


_MINUTE, _HOUR, _DAY = 60.0, 3600.0, 86400.0

# Common practice, no source: what the trade does between the steps that are computed.
_THROUGH: Second = 2 * _HOUR  # boxed, until it is cold through again
_REFREEZE: Second = 30 * _MINUTE  # back in the cold after demoulding, and between two skins
_HEARTS_WAIT: Second = 7 * _DAY  # frozen hearts, bagged
_TRAY_WAIT: Second = 48 * _HOUR  # in the mould, in the blast freezer
_SKIN_WAIT: Second = 24 * _HOUR  # between two skins
_PIECE_WAIT: Second = 72 * _HOUR  # demoulded and bare
_WARM_COAT: Second = 4 * _HOUR  # a coat held warm
_BASES_WAIT: Second = 72 * _HOUR
_KEEPS: Second = 90 * _DAY  # a frozen piece, when the programme says nothing
_UNMOULD, _UNMOULD_TRAY, _UNMOULD_HEART = 10 * _MINUTE, 2 * _MINUTE, 3.0
_WEIGH_UP = 5 * _MINUTE
_CLEAN: Second = 15 * _MINUTE
_HANDLED = 12  # frozen pieces on the bench at a time, and the longest that they are there
_BARE: Second = 20 * _MINUTE
_HEARTS_A_LEVEL = 5.0  # kg, bagged flat


def lot_of(
    worked: Worked,
    number: int,
    served: Sequence[tuple[Demand, int]],
    resources: Mapping[str, Resource],
    skills: frozenset[str],
    made: frozenset[str] = frozenset(),
    dirty: Mapping[str, frozenset[str]] | None = None,
) -> Lot:
    """One lot of a dessert: everything from the first pan to the pieces taken out.

    Parameters
    ----------
    served
        Demands and the pieces of each.
    resources
        By name.
    skills
        Kinds of work that are left to those who are told to be able to do them.
    made
        Components that are in stock and need not be made.
    dirty
        Allergens by machine that some other user of it does not have: after a making that bears one of them the
        machine is cleaned down before it is used again, and hands do it.
    """
    pieces = sum(count for _, count in served)
    return _Builder(worked, number, pieces, resources, skills, made, dirty or {}).lot(served)


@dataclass(slots=True)
class _Builder:
    worked: Worked
    number: int
    pieces: int
    resources: Mapping[str, Resource]
    skills: frozenset[str]
    made: frozenset[str]
    dirty: Mapping[str, frozenset[str]]
    jobs: list[Job] = field(default_factory=list)
    lags: list[Lag] = field(default_factory=list)
    holds: list[Hold] = field(default_factory=list)
    first_of: dict[str, Job] = field(default_factory=dict)
    last_of: dict[str, tuple[Job, Turn]] = field(default_factory=dict)
    merged: dict[str, Job] = field(default_factory=dict)
    _at_once: set[str] = field(default_factory=set)
    _takes: dict[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def key(self) -> str:
        return f"{self.worked.dessert.name} {self.number}"

    def lot(self, served: Sequence[tuple[Demand, int]]) -> Lot:
        weighing = weighed(self.worked, self.pieces)
        # What is made beyond what is wanted, be it that so little cannot be cooked.
        work = dict(weighing.hands_on)
        needs = {need.component: need for need in weighing.needs}
        piece = self.worked.piece
        for role in ("heart", "inner heart", "body"):
            self._find_at_once([layer.component for layer in piece.layers if layer.role == role], needs)
        self._components(needs)
        hearts = self._hearts(weighing, needs, work)
        filled = self._fill(weighing, needs, work, hearts)
        finished = self._skins(filled, work, weighing)
        parts = self._served(finished, served)
        self._link_components(needs)
        return Lot(
            key=self.key,
            dessert=self.worked.dessert.name,
            number=self.number,
            pieces=self.pieces,
            started=weighing.started,
            jobs=tuple(self.jobs),
            lags=tuple(self.lags),
            holds=tuple(self.holds),
            parts=parts,
            spare=weighing.spare + weighing.pieces - self.pieces,
            weighing=weighing,
        )

    # ---- small parts

    def _job(self, name: str, kind: str, does: str, seconds: Second, **more: object) -> Job:
        job = Job(
            key=f"{self.key} {name}",
            lot=self.key,
            kind=kind,
            does=does,
            seconds=seconds_up(max(seconds, 300.0)),
            warm=self._warm(kind, seconds),
            skill=kind if kind in self.skills else "",
            **more,  # type: ignore[arg-type]
        )
        self.jobs.append(job)
        return job

    def _warm(self, kind: str, seconds: Second) -> int:
        """Filling stands open for as long as moulds are filled; what is frozen is handled twelve at a time."""
        if kind == "fill":
            return int(dict(weighed(self.worked, self.pieces).hands_on).get("fill moulds", 0.0))
        if kind in ("demould", "dip", "spray", "finish"):
            return int(min(seconds * _HANDLED / max(self.pieces, _HANDLED), _BARE))
        return 0

    def _lag(self, before: Job, after: Job, at_least: Second, at_most: Second | None, why: str) -> None:
        least = seconds_up(at_least)
        most = None if at_most is None else max(seconds_down(at_most), least)
        self.lags.append(Lag(before=before.key, after=after.key, at_least=least, at_most=most, why=why))

    def _hold(self, resource: str, amount: int, first: Job, begins: str, last: Job, ends: str, why: str) -> None:
        if resource in self.resources and amount > 0:
            self.holds.append(
                Hold(
                    resource=resource,
                    amount=amount,
                    first=first.key,
                    begins=begins,
                    last=last.key,
                    ends=ends,
                    why=why,
                    pieces=self.pieces,
                )
            )

    def _roles(self, component: str) -> set[str]:
        return {layer.role for layer in self.worked.piece.layers if layer.component == component}

    def _component(self, name: str) -> Component:
        return next(one for one in self.worked.dessert.components if one.name == name)

    def _turns(self, need: NeedOf) -> tuple[Turn, ...]:
        return turns(self._component(need.component), self.worked.cooked[need.component], need)

    def _allergens(self, components: Sequence[str]) -> frozenset[str]:
        found: set[str] = set()
        for name in components:
            for content in self.worked.cooked[name].contents:
                item = content.ingredient
                found |= item.allergens_eu if self.worked.kitchen.market == "EU" else item.allergens_us
        return frozenset(found)

    def _uses(self, need: NeedOf, turn: Turn, seconds: Second) -> tuple[tuple[Use, ...], Second]:
        """Machines that a turn takes, from the vessels of the weigh-up, and the clean-down that follows."""
        names = [part.split(",")[0].strip() for part in need.vessel.split(", ")]
        bears = self._allergens([need.component])
        uses: list[Use] = []
        clean = 0.0
        for name in names:
            machine = self.resources.get(name)
            if machine is None or machine.kind != "machine":
                continue
            pan = machine.counted == "pan"
            if (
                (pan and not turn.hot)
                or (machine.counted == "bowl" and not turn.whips)
                or name in ("bath", "spray gun")
            ):
                continue
            after = _CLEAN if not pan and bears & self.dirty.get(name, frozenset()) else 0.0
            clean = max(clean, after)
            uses.append(Use(resource=name, amount=1, seconds=seconds_up(seconds + after), clean=int(after)))
        if turn.bakes and "oven" in self.resources:
            sheets = min(self._sheets(need), self.resources["oven"].amount)
            uses.append(Use(resource="oven", amount=sheets, seconds=seconds_up(seconds)))
        return tuple(uses), clean

    def _sheets(self, need: NeedOf) -> int:
        head = need.vessel.split(" ")[0]
        return int(head) if head.isdigit() and "sheet" in need.vessel else 1

    # ---- components

    def _components(self, needs: Mapping[str, NeedOf]) -> None:
        """Turns of every component; the last of one that must be used at once is part of the job that uses it."""
        weigh_up_left = _WEIGH_UP
        for name, need in needs.items():
            if name in self.made:
                continue
            listed = list(self._turns(need))
            if name in self._at_once:
                listed.pop()
            before: tuple[Job, Turn] | None = None
            for k, turn in enumerate(listed):
                uses, clean = self._uses(need, turn, turn.seconds)
                job = self._job(
                    f"{name} {k + 1}" if len(listed) > 1 else name,
                    "cook",
                    turn.does,
                    turn.seconds + weigh_up_left + clean,
                    component=name,
                    batch=need.gives * need.makings,
                    uses=uses,
                    allergens=self._allergens([name]),
                )
                weigh_up_left = 0.0
                if before is not None:
                    self._wait(before, job)
                self.first_of.setdefault(name, job)
                before = (job, turn)
            if before is not None:
                self.last_of[name] = before

    def _wait(self, before: tuple[Job, Turn], after: Job) -> None:
        job, turn = before
        most = turn.at_most if turn.at_most is not None else self._keeps(job.component)
        self._lag(job, after, turn.at_least, max(most, turn.at_least), f"{job.component} rests")
        if turn.at is not None and turn.at_least > 0:
            room = self._cold_room(turn.at)
            if room:
                self._hold(room, PLACE // 2, job, "end", after, "start", f"{job.component} rests")

    def _cold_room(self, at: float) -> str:
        """The room with levels in which something rests at a temperature; none for what stands warm."""
        if not 268.15 < at < 283.15:
            return ""
        rooms = [r for r in self.resources.values() if r.kind == "room" and r.air is not None and r.air > 268.15]
        return rooms[0].name if rooms else ""

    def _keeps(self, component: str) -> Second:
        roles = self._roles(component)
        if roles & {"shell", "spray"}:
            return _WARM_COAT
        return _BASES_WAIT if "base" in roles else KEEPS

    def _link_components(self, needs: Mapping[str, NeedOf]) -> None:
        """Each component before whatever it goes into."""
        for name, last in self.last_of.items():
            if name in self.merged:
                self._wait(last, self.merged[name])
                continue
            for user in self._users(name, needs):
                self._wait(last, user)

    def _users(self, name: str, needs: Mapping[str, NeedOf]) -> list[Job]:
        users = [job for job in self.jobs if name in self._takes.get(job.key, ())]
        for other in needs:
            if other == name or other in self.made:
                continue
            component = self._component(other)
            syrups = [step.syrup for step in component.steps if hasattr(step, "syrup")]
            if any(line.what.casefold() == name.casefold() for line in component.weighed) or name in syrups:
                first = self.first_of.get(other) or self.merged.get(other)
                if first is not None:
                    users.append(first)
        return list(dict.fromkeys(users))

    def _find_at_once(self, names: Sequence[str], needs: Mapping[str, NeedOf]) -> None:
        """Whatever does not stand before it is used is made in the job that uses it: whipped, folded, poured warm."""
        for name in names:
            need = needs.get(name)
            if need is not None and name not in self.made and self._turns(need)[-1].at_least == 0:
                self._at_once.add(name)

    def _used_at_once(self, names: Sequence[str], needs: Mapping[str, NeedOf]) -> tuple[Second, list[Use], list[str]]:
        """Seconds, machines and words of the turns that are done with the filling itself."""
        seconds = 0.0
        uses: list[Use] = []
        words: list[str] = []
        for name in names:
            if name not in self._at_once:
                continue
            need = needs[name]
            turn = self._turns(need)[-1]
            taken, clean = self._uses(need, turn, turn.seconds)
            seconds += turn.seconds + clean
            uses += taken
            words.append(turn.does)
        return seconds, uses, words

    # ---- hearts, body, skins

    def _hearts(self, weighing: Weighing, needs: Mapping[str, NeedOf], work: Mapping[str, Second]) -> list[Job]:
        piece = self.worked.piece
        names = [layer.component for layer in piece.layers if layer.role in ("heart", "inner heart")]
        if not names:
            return []
        mould = piece.heart_mould
        cycles = max(weighing.heart_makings, 1)
        cavities = weighing.started * max(piece.hearts_per_piece, 1)
        seconds, uses, words = self._used_at_once(names, needs)
        trays = self._trays(mould, math.ceil(cavities / cycles))
        freeze = self.worked.cold.stage("harden heart")
        out = []
        for k in range(cycles):
            ending = f" {k + 1}" if cycles > 1 else ""
            fill = self._job(
                f"hearts{ending}",
                "fill hearts",
                " and ".join([*words, "fill hearts"]) if words else "Fill hearts",
                (work.get("fill hearts", 0.0) + seconds) / cycles,
                component=names[0],
                batch=needs[names[0]].gives * needs[names[0]].makings / cycles if names[0] in needs else None,
                trays=((mould.name, trays),) if mould else (),
                pieces=math.ceil(weighing.started / cycles),
                uses=tuple(uses),
                allergens=self._allergens(names),
            )
            unmould = self._job(
                f"unmould hearts{ending}",
                "unmould hearts",
                "Unmould hearts" + (" and join them" if piece.hearts_per_piece > 1 else ""),
                _UNMOULD + trays * _UNMOULD_TRAY + cavities / cycles * _UNMOULD_HEART,
                component=names[0],
                trays=((mould.name, trays),) if mould else (),
                pieces=math.ceil(weighing.started / cycles),
            )
            for name in names:
                if name in self._at_once:
                    self.merged.setdefault(name, fill)
            self._takes[fill.key] = tuple(names)
            self._frozen(fill, unmould, mould, trays, freeze, "hearts")
            out.append(unmould)
        return out

    def _frozen(self, fill: Job, out: Job, mould: Mould | None, trays: int, run: StageRun | None, what: str) -> None:
        """Trays in a freezer from filling to demoulding, for the slow end of the band of such a load at the least."""
        hard = hard_within(run, trays)
        self._lag(fill, out, hard or 0.0, max(_TRAY_WAIT, hard or 0.0), f"{what} freeze")
        if mould is not None:
            self._hold(mould.name, trays, fill, "start", out, "end", f"{what} in the mould")
            if run is not None:
                places = math.ceil(trays * mould.places * PLACE - 1e-9)
                self._hold(run.room.name, places, fill, "end", out, "start", f"{what} freeze")

    def _trays(self, mould: Mould | None, cavities: int) -> int:
        return math.ceil(cavities / mould.per_tray) if mould else 0

    def _fill(
        self, weighing: Weighing, needs: Mapping[str, NeedOf], work: Mapping[str, Second], hearts: Sequence[Job]
    ) -> Job:
        piece = self.worked.piece
        bodies = [layer.component for layer in piece.layers if layer.role == "body"]
        bases = [layer.component for layer in piece.layers if layer.role == "base"]
        seconds, uses, words = self._used_at_once(bodies, needs)
        trays = sum(making.trays for making in weighing.makings)
        mould = piece.mould
        fill = self._job(
            "fill",
            "fill",
            " and ".join([*words, "fill moulds"]) if words else "Fill moulds",
            work.get("fill moulds", 0.0) + work.get("cut discs", 0.0) + seconds,
            component=bodies[0] if bodies else "",
            batch=needs[bodies[0]].gives * needs[bodies[0]].makings if bodies and bodies[0] in needs else None,
            trays=((mould.name, trays),) if mould else (),
            pieces=weighing.started,
            uses=tuple(uses),
            allergens=self._allergens([*bodies, *bases]),
        )
        for name in bodies:
            if name in self._at_once:
                self.merged[name] = fill
        self._takes[fill.key] = (*bodies, *bases)
        demould = self._job(
            "demould",
            "demould",
            "Demould, seam and polish",
            work.get("demould", 0.0),
            trays=((mould.name, trays),) if mould else (),
            pieces=weighing.started,
        )
        self._frozen(fill, demould, mould, trays, self.worked.cold.stage("harden piece"), "pieces")
        for unmould in hearts:
            self._lag(unmould, fill, 0.0, _HEARTS_WAIT, "hearts wait in the cold")
            heart = piece.layer("heart")
            if heart is not None and self._store:
                levels = weighing.started * heart.mass / len(hearts) / _HEARTS_A_LEVEL
                self._hold(self._store, places(levels), unmould, "end", fill, "start", "hearts kept")
        return demould

    @property
    def _store(self) -> str:
        run = self.worked.cold.stage("keep")
        return run.room.name if run else ""

    def _skins(self, demould: Job, work: Mapping[str, Second], weighing: Weighing) -> Job:
        """Every coat from the inside outwards, and the finish; between them the pieces are back in the cold."""
        piece = self.worked.piece
        last = demould
        for role, kind, verb in (("shell", "dip", "Dip"), ("spray", "spray", "Spray")):
            names = [layer.component for layer in piece.layers if layer.role == role]
            if not names:
                continue
            seconds = work.get(kind, 0.0)
            machine = "bath" if kind == "dip" else "spray gun"
            uses: tuple[Use, ...] = ()
            if machine in self.resources:
                uses = (Use(resource=machine, amount=1, seconds=seconds_up(seconds)),)
            job = self._job(
                kind,
                kind,
                f"{verb} in {' and '.join(names)}" if kind == "dip" else f"{verb} with {' and '.join(names)}",
                seconds,
                component=names[0],
                pieces=weighing.started,
                uses=uses,
                allergens=self._allergens(names),
            )
            self._takes[job.key] = tuple(names)
            first = last is demould
            self._lag(
                last, job, _REFREEZE, _PIECE_WAIT if first else _SKIN_WAIT, "back in the cold until the surface is dry"
            )
            last = job
        finish = self._job(
            "finish",
            "finish",
            "Finish and box",
            work.get("finish", 0.0),
            pieces=weighing.started,
        )
        self._lag(last, finish, 0.0, _SKIN_WAIT, "finish")
        if self._store:
            levels = weighing.started / pieces_a_level(self.worked)
            self._hold(self._store, places(levels), demould, "end", finish, "start", "pieces between two skins")
        return finish

    def _served(self, finish: Job, served: Sequence[tuple[Demand, int]]) -> tuple[Part, ...]:
        run = self.worked.cold.stage("keep")
        keeps = (run.stage.at_most if run else None) or _KEEPS
        a_level = pieces_a_level(self.worked)
        parts = []
        for demand, count in served:
            job = take_out(self.key, demand, count)
            self.jobs.append(job)
            self._lag(finish, job, _THROUGH, keeps, "frozen through again before it thaws")
            if self._store:
                self._hold(self._store, places(count / a_level), finish, "end", job, "end", "pieces kept")
            parts.append(Part(demand=demand.key, pieces=count, job=job.key))
        return tuple(parts)
