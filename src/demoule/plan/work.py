"""From the stages' results to the work of one lot: jobs, lags and what is held. Nothing is described twice."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from demoule.batch import NeedOf, Weighing
from demoule.cold import StageRun
from demoule.piece.design import Mould
from demoule.plan.components import Components
from demoule.plan.places import PLACE, hard_within, pieces_a_level, places, take_out, weighed
from demoule.plan.week import Demand, Job, Lot, Part, Resource, Use, seconds_up
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
_KEEPS: Second = 90 * _DAY  # a frozen piece, when the programme says nothing
_UNMOULD, _UNMOULD_TRAY, _UNMOULD_HEART = 10 * _MINUTE, 2 * _MINUTE, 3.0
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
class _Builder(Components):
    """The whole sheet, from the hearts to the pieces taken out."""

    def lot(self, served: Sequence[tuple[Demand, int]]) -> Lot:
        weighing = weighed(self.worked, self.pieces)
        # What is made beyond what is wanted, be it that so little cannot be cooked.
        work = dict(weighing.hands_on)
        needs = {need.component: need for need in weighing.needs}
        piece = self.worked.piece
        for role in ("heart", "inner heart", "body"):
            self.find_at_once([layer.component for layer in piece.layers if layer.role == role], needs)
        self.components(needs)
        hearts = self._hearts(weighing, needs, work)
        filled = self._fill(weighing, needs, work, hearts)
        finished = self._skins(filled, work, weighing)
        parts = self._served(finished, served)
        self.link_components(needs)
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

    def _hearts(self, weighing: Weighing, needs: Mapping[str, NeedOf], work: Mapping[str, Second]) -> list[Job]:
        piece = self.worked.piece
        names = [layer.component for layer in piece.layers if layer.role in ("heart", "inner heart")]
        if not names:
            return []
        mould = piece.heart_mould
        cycles = max(weighing.heart_makings, 1)
        cavities = weighing.started * max(piece.hearts_per_piece, 1)
        seconds, uses, words = self.used_at_once(names, needs)
        trays = self._trays(mould, math.ceil(cavities / cycles))
        freeze = self.worked.cold.stage("harden heart")
        out = []
        for k in range(cycles):
            ending = f" {k + 1}" if cycles > 1 else ""
            fill = self.job(
                f"hearts{ending}",
                "fill hearts",
                " and ".join([*words, "fill hearts"]) if words else "Fill hearts",
                (work.get("fill hearts", 0.0) + seconds) / cycles,
                component=names[0],
                batch=needs[names[0]].gives * needs[names[0]].makings / cycles if names[0] in needs else None,
                trays=((mould.name, trays),) if mould else (),
                pieces=math.ceil(weighing.started / cycles),
                uses=tuple(uses),
                allergens=self.allergens(names),
            )
            unmould = self.job(
                f"unmould hearts{ending}",
                "unmould hearts",
                "Unmould hearts" + (" and join them" if piece.hearts_per_piece > 1 else ""),
                _UNMOULD + trays * _UNMOULD_TRAY + cavities / cycles * _UNMOULD_HEART,
                component=names[0],
                trays=((mould.name, trays),) if mould else (),
                pieces=math.ceil(weighing.started / cycles),
            )
            for name in names:
                if name in self.at_once:
                    self.merged.setdefault(name, fill)
            self.takes[fill.key] = tuple(names)
            self._frozen(fill, unmould, mould, trays, freeze, "hearts")
            out.append(unmould)
        return out

    def _frozen(self, fill: Job, out: Job, mould: Mould | None, trays: int, run: StageRun | None, what: str) -> None:
        """Trays in a freezer from filling to demoulding, for the slow end of the band of such a load at the least."""
        hard = hard_within(run, trays)
        self.lag(fill, out, hard or 0.0, max(_TRAY_WAIT, hard or 0.0), f"{what} freeze")
        if mould is not None:
            self.hold(mould.name, trays, fill, "start", out, "end", f"{what} in the mould")
            if run is not None:
                places = math.ceil(trays * mould.places * PLACE - 1e-9)
                self.hold(run.room.name, places, fill, "end", out, "start", f"{what} freeze")

    def _trays(self, mould: Mould | None, cavities: int) -> int:
        return math.ceil(cavities / mould.per_tray) if mould else 0

    def _fill(
        self, weighing: Weighing, needs: Mapping[str, NeedOf], work: Mapping[str, Second], hearts: Sequence[Job]
    ) -> Job:
        piece = self.worked.piece
        bodies = [layer.component for layer in piece.layers if layer.role == "body"]
        bases = [layer.component for layer in piece.layers if layer.role == "base"]
        seconds, uses, words = self.used_at_once(bodies, needs)
        trays = sum(making.trays for making in weighing.makings)
        mould = piece.mould
        fill = self.job(
            "fill",
            "fill",
            " and ".join([*words, "fill moulds"]) if words else "Fill moulds",
            work.get("fill moulds", 0.0) + work.get("cut discs", 0.0) + seconds,
            component=bodies[0] if bodies else "",
            batch=needs[bodies[0]].gives * needs[bodies[0]].makings if bodies and bodies[0] in needs else None,
            trays=((mould.name, trays),) if mould else (),
            pieces=weighing.started,
            uses=tuple(uses),
            allergens=self.allergens([*bodies, *bases]),
        )
        for name in bodies:
            if name in self.at_once:
                self.merged[name] = fill
        self.takes[fill.key] = (*bodies, *bases)
        demould = self.job(
            "demould",
            "demould",
            "Demould, seam and polish",
            work.get("demould", 0.0),
            trays=((mould.name, trays),) if mould else (),
            pieces=weighing.started,
        )
        self._frozen(fill, demould, mould, trays, self.worked.cold.stage("harden piece"), "pieces")
        for unmould in hearts:
            self.lag(unmould, fill, 0.0, _HEARTS_WAIT, "hearts wait in the cold")
            heart = piece.layer("heart")
            if heart is not None and self._store:
                levels = weighing.started * heart.mass / len(hearts) / _HEARTS_A_LEVEL
                self.hold(self._store, places(levels), unmould, "end", fill, "start", "hearts kept")
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
            job = self.job(
                kind,
                kind,
                f"{verb} in {' and '.join(names)}" if kind == "dip" else f"{verb} with {' and '.join(names)}",
                seconds,
                component=names[0],
                pieces=weighing.started,
                uses=uses,
                allergens=self.allergens(names),
            )
            self.takes[job.key] = tuple(names)
            first = last is demould
            self.lag(
                last, job, _REFREEZE, _PIECE_WAIT if first else _SKIN_WAIT, "back in the cold until the surface is dry"
            )
            last = job
        finish = self.job(
            "finish",
            "finish",
            "Finish and box",
            work.get("finish", 0.0),
            pieces=weighing.started,
        )
        self.lag(last, finish, 0.0, _SKIN_WAIT, "finish")
        if self._store:
            levels = weighing.started / pieces_a_level(self.worked)
            self.hold(self._store, places(levels), demould, "end", finish, "start", "pieces between two skins")
        return finish

    def _served(self, finish: Job, served: Sequence[tuple[Demand, int]]) -> tuple[Part, ...]:
        run = self.worked.cold.stage("keep")
        keeps = (run.stage.at_most if run else None) or _KEEPS
        a_level = pieces_a_level(self.worked)
        parts = []
        for demand, count in served:
            job = take_out(self.key, demand, count)
            self.jobs.append(job)
            self.lag(finish, job, _THROUGH, keeps, "frozen through again before it thaws")
            if self._store:
                self.hold(self._store, places(count / a_level), finish, "end", job, "end", "pieces kept")
            parts.append(Part(demand=demand.key, pieces=count, job=job.key))
        return tuple(parts)
