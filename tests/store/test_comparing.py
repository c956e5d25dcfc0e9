"""What moved between two versions is told line by line and figure by figure, and nothing else."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from demoule.dossier import dossier
from demoule.figures import Figure
from demoule.files import demo_text, desserts_of, kitchen_of
from demoule.larder import standard_larder
from demoule.store import Moved, figures_moved, lines_moved
from demoule.worked import work_up

texts = st.lists(st.sampled_from(["sugar: 50 g\n", "water: 1 kg\n", "\n", "x\r\n", "a\u2028b\n", "end"]), max_size=12)


@given(texts, texts)
def test_both_texts_can_be_made_from_what_moved(before, after):
    old, new = "".join(before), "".join(after)
    lines = lines_moved(old, new)
    assert "".join(line.text for line in lines if line.kind != "come") == old
    assert "".join(line.text for line in lines if line.kind != "gone") == new
    assert [line.before for line in lines if line.before] == list(
        range(1, old.count("\n") + 1 + (old[-1:] not in ("", "\n")))
    )
    assert (old == new) == all(line.kind == "same" for line in lines)


def test_one_changed_line_of_many_thousand_is_told_alone():
    before = [f"line {number % 7}\n" for number in range(100_000)]
    after = [*before[:60_000], "changed\n", *before[60_001:]]
    moved = [line for line in lines_moved("".join(before), "".join(after)) if line.kind != "same"]
    assert [(line.kind, line.before, line.after) for line in moved] == [("gone", 60_001, None), ("come", None, 60_001)]


def moved(before, after):
    return Moved(key="brix", name="Brix", of="heart", before=before, after=after)


def test_a_difference_is_told_with_what_both_are_sure_of():
    near = moved(Figure(value=30.0, unit="%", low=29.0, high=31.0), Figure(value=30.5, unit="%", low=29.5, high=31.5))
    assert near.difference == pytest.approx(0.5)
    assert not near.beyond_band
    far = moved(Figure(value=30.0, unit="%", low=29.0, high=31.0), Figure(value=34.0, unit="%", low=33.0, high=35.0))
    assert far.beyond_band
    assert far.visible
    other_unit = moved(Figure(value=1.5, unit="h"), Figure(value=100.0, unit="min"))
    assert other_unit.difference == pytest.approx(10.0)
    assert moved(Figure(value=None, unit="%"), Figure(value=1.0, unit="%")).difference is None
    assert moved(None, Figure(value=1.0, unit="%")).beyond_band
    hidden = moved(
        Figure(value=30.001, unit="%", low=29.0, high=31.0), Figure(value=30.002, unit="%", low=29.0, high=31.0)
    )
    assert not hidden.visible


@pytest.fixture(scope="module")
def worked_up():
    kitchen = kitchen_of(demo_text("kitchen.yaml"), "kitchen.yaml", standard_larder())

    def of(text):
        (dessert,) = desserts_of(text, "apricot.yaml", kitchen.larder, kitchen)
        return dossier(work_up(dessert, kitchen))

    return of


def test_twenty_grams_of_sugar_are_felt_where_they_should_be(worked_up):
    text = demo_text("apricot.yaml")
    sweeter = text.replace("apricot juice: 1090 g, sugar: 130 g", "apricot juice: 1090 g, sugar: 150 g")
    assert sweeter != text
    before, after = worked_up(text), worked_up(sweeter)
    assert figures_moved(before, before).nothing
    comparison = figures_moved(before, after)
    found = {(one.key, one.of): one for one in comparison.figures}
    freezing = next(one for (key, of), one in found.items() if key == "freezing_point" and "jelly" in of)
    assert freezing.difference < 0  # more sugar, a lower freezing point
    assert freezing.before == before.figure("freezing_point", freezing.of)
    # The ganache does not know of it.
    assert not any(of == "whipped ganache" and key == "freezing_point" for key, of in found)
    back = figures_moved(after, before)
    assert {(one.key, one.of) for one in back.figures} == set(found)
