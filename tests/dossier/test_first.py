"""The first part of an answer says nothing that the whole one says otherwise, and nothing that hangs on the cold."""

from __future__ import annotations

import dataclasses

import pytest

from demoule.cold import run_programme
from demoule.dossier import dossier
from demoule.dossier.first import NotYet, first_answer
from demoule.files import demo
from demoule.memory import Memory
from demoule.worked import Dessert, work_up

DESSERTS, KITCHEN, _ = demo()


class Counting(Memory):
    """Counts how often a stage is really computed."""

    def __init__(self) -> None:
        super().__init__()
        self.ran: list[str] = []

    def recall(self, stage, inputs, compute):  # type: ignore[no-untyped-def]
        def counted() -> object:
            self.ran.append(stage.__name__)
            return compute()

        return super().recall(stage, inputs, counted)


@pytest.mark.parametrize("dessert", DESSERTS, ids=lambda one: one.name)
def test_every_first_figure_is_that_of_the_whole_answer(dessert: Dessert) -> None:
    first = first_answer(dessert, KITCHEN, memory=Memory())
    whole = {(one.of, one.key): one.figure for one in dossier(work_up(dessert, KITCHEN, memory=Memory())).figures}
    assert len(first.figures) > 0.5 * len(whole)
    for one in first.figures:
        assert one.figure == whole[one.of, one.key], (one.of, one.key)


@pytest.mark.parametrize("dessert", DESSERTS, ids=lambda one: one.name)
def test_no_first_figure_moves_with_the_cold(dessert: Dessert) -> None:
    # The same piece with the cold of a kitchen whose freezers are 6 K warmer: hours, windows and energy move.
    rooms = tuple(dataclasses.replace(room, air=room.air + 6.0 * (room.air < 265)) for room in KITCHEN.rooms)
    worked = work_up(dessert, KITCHEN, memory=Memory())
    other = work_up(dessert, dataclasses.replace(KITCHEN, rooms=rooms), memory=Memory())
    whole = [
        {(one.of, one.key): one.figure for one in dossier(made).figures}
        for made in (worked, dataclasses.replace(worked, cold=other.cold))
    ]
    moved = {place for place in whole[0] if whole[0][place] != whole[1].get(place)}
    assert {("piece", "harden_piece_time"), ("piece", "ready_after"), ("piece", "cost")} <= moved
    assert not moved & {(one.of, one.key) for one in first_answer(dessert, KITCHEN, memory=Memory()).figures}


def test_the_cold_is_not_run_and_says_so() -> None:
    memory = Counting()
    first = first_answer(DESSERTS[0], KITCHEN, memory=memory)
    assert "run_programme" not in memory.ran
    assert "cook" in memory.ran
    with pytest.raises(NotYet):
        first.worked.cold.stage("thaw")
    with pytest.raises(NotYet):
        dossier(first.worked)
    keys = {one.key for one in first.figures}
    assert {"mass", "material_cost", "water_activity", "freezing_point", "thickness"} <= keys
    assert not keys & {"harden_piece_time", "ready_after", "cost"}


def test_what_the_cold_was_before_is_told_at_once() -> None:
    memory = Memory()
    work_up(DESSERTS[0], KITCHEN, memory=memory)
    first = first_answer(DESSERTS[0], KITCHEN, memory=memory)
    assert first.worked.cold.stage("thaw") is not None
    assert "ice_at_serving" in {one.key for one in first.figures if one.of == "whipped ganache"}


def test_it_is_the_same_stage_that_the_whole_answer_runs() -> None:
    memory = Counting()
    work_up(DESSERTS[0], KITCHEN, memory=memory)
    assert memory.ran.count(run_programme.__name__) == 1
