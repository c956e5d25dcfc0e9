"""Versions only grow, come back byte for byte, and never write over one another."""

import itertools
from datetime import UTC, datetime, timedelta

import pytest
import sqlalchemy
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from demoule.errors import BadInput
from demoule.store import AlreadyThere, By, Kind, NotThere, Stale, digest_of, open_store, slug_of

TYPED = "\ufeffname: Pêche ½ “mûre”\r\n# 12,5 g → 😀\r\rcomponents:\n\t\n  \u2028x: 1"


def test_a_text_comes_back_as_it_was_typed(store, by):
    begun = store.documents.begin(Kind.DESSERT, "Pêche", TYPED, by(why="first thoughts"))
    read = store.documents.version(Kind.DESSERT, "peche")
    assert read == begun
    assert read.text == TYPED
    assert (read.n, read.parent, read.act, read.who, read.why) == (1, None, "begun", "Ada", "first thoughts")
    assert read.digest == digest_of(TYPED)
    assert read.at == datetime(2026, 5, 2, 6, 0, tzinfo=UTC)


def test_a_save_adds_a_version_and_the_old_one_stays(store, by):
    one = store.documents.begin(Kind.DESSERT, "Apricot", "sugar: 130 g\n", by())
    two = store.documents.save(Kind.DESSERT, "apricot", "sugar: 135 g\n", by("Bela", "sweeter"), rev=one.rev)
    assert (two.n, two.parent, two.who, two.why, two.act) == (2, 1, "Bela", "sweeter", "saved")
    assert [v.text for v in store.documents.history(Kind.DESSERT, "apricot")] == ["sugar: 135 g\n", "sugar: 130 g\n"]
    assert store.documents.head(Kind.DESSERT, "apricot").n == 2
    assert [v.n for v in store.documents.history(Kind.DESSERT, "apricot", most=1)] == [2]
    assert [v.n for v in store.documents.history(Kind.DESSERT, "apricot", before=2)] == [1]
    assert store.documents.version(Kind.DESSERT, "apricot", 1).text == "sugar: 130 g\n"


def test_the_second_of_two_savers_is_shown_both_versions(store, by):
    base = store.documents.begin(Kind.DESSERT, "Apricot", "base", by())
    theirs = store.documents.save(Kind.DESSERT, "apricot", "theirs", by("Bela"), rev=base.rev)
    with pytest.raises(Stale) as stale:
        store.documents.save(Kind.DESSERT, "apricot", "mine", by(), rev=base.rev)
    assert stale.value.mine == "mine"
    assert stale.value.theirs == theirs
    assert stale.value.base is not None
    assert stale.value.base.text == "base"
    assert "Bela" in str(stale.value)
    assert [v.text for v in store.documents.history(Kind.DESSERT, "apricot")] == ["theirs", "base"]
    # On top of theirs it goes.
    assert store.documents.save(Kind.DESSERT, "apricot", "mine", by(), rev=stale.value.theirs.rev).n == 3


def test_a_revision_from_the_future_is_stale_too(store, by):
    store.documents.begin(Kind.DESSERT, "Apricot", "base", by())
    with pytest.raises(Stale) as stale:
        store.documents.save(Kind.DESSERT, "apricot", "mine", by(), rev=7)
    assert stale.value.base is None


def test_a_save_sent_again_is_written_once(store, by):
    base = store.documents.begin(Kind.DESSERT, "Apricot", "base", by(), key="begin-1")
    assert store.documents.begin(Kind.DESSERT, "Apricot", "base", by(), key="begin-1") == base
    once = store.documents.save(Kind.DESSERT, "apricot", "one", by(), rev=base.rev, key="k1")
    again = store.documents.save(Kind.DESSERT, "apricot", "one", by(), rev=base.rev, key="k1")
    assert once == again
    store.documents.save(Kind.DESSERT, "apricot", "two", by(), rev=once.rev, key="k2")
    late = store.documents.save(Kind.DESSERT, "apricot", "one", by(), rev=base.rev, key="k1")
    assert (late.n, late.text) == (2, "one")
    assert len(store.documents.history(Kind.DESSERT, "apricot")) == 3


def test_the_same_text_makes_no_new_version(store, by):
    base = store.documents.begin(Kind.DESSERT, "Apricot", "base", by())
    assert store.documents.save(Kind.DESSERT, "apricot", "base", by(), rev=base.rev) == base
    renamed = store.documents.save(Kind.DESSERT, "apricot", "base", by(), rev=base.rev, name="Abricot")
    assert (renamed.n, renamed.name) == (2, "Abricot")


def test_what_a_check_refuses_is_not_written(store, by):
    base = store.documents.begin(Kind.DESSERT, "Apricot", "base", by())

    def refuse(text):
        raise BadInput(f"cannot read {text}")

    with pytest.raises(BadInput, match="cannot read broken"):
        store.documents.save(Kind.DESSERT, "apricot", "broken", by(), rev=base.rev, check=refuse)
    assert store.documents.head(Kind.DESSERT, "apricot").n == 1


def test_an_old_version_is_restored_as_a_new_one(store, by):
    base = store.documents.begin(Kind.DESSERT, "Apricot", "old", by())
    new = store.documents.save(Kind.DESSERT, "apricot", "new", by(), rev=base.rev, name="New")
    back = store.documents.restore(Kind.DESSERT, "apricot", 1, by(), rev=new.rev)
    assert (back.n, back.text, back.name, back.act, back.parent) == (3, "old", "Apricot", "restored", 1)
    with pytest.raises(Stale):
        store.documents.restore(Kind.DESSERT, "apricot", 2, by(), rev=new.rev)
    with pytest.raises(NotThere, match="no version 9"):
        store.documents.restore(Kind.DESSERT, "apricot", 9, by(), rev=back.rev)


def test_a_branch_goes_its_own_way_and_knows_where_it_comes_from(store, by):
    base = store.documents.begin(Kind.DESSERT, "Apricot", "sugar", by())
    store.documents.save(Kind.DESSERT, "apricot", "more sugar", by(), rev=base.rev)
    tried = store.documents.branch(Kind.DESSERT, "apricot", "Apricot with honey", by(why="try with honey"), n=1)
    assert (tried.slug, tried.text, tried.n, tried.act) == ("apricot-with-honey", "sugar", 1, "branched")
    head = store.documents.head(Kind.DESSERT, "apricot-with-honey")
    assert (head.branch_of, head.branch_of_n, head.why) == ("apricot", 1, "try with honey")
    store.documents.save(Kind.DESSERT, tried.slug, "honey", by(), rev=tried.rev)
    assert store.documents.version(Kind.DESSERT, "apricot").text == "more sugar"


def test_what_is_put_away_leaves_the_lists_and_nothing_else(store, by):
    base = store.documents.begin(Kind.DESSERT, "Apricot", "text", by())
    head = store.documents.put_away(Kind.DESSERT, "apricot", by(), rev=base.rev)
    assert head.put_away
    assert store.documents.heads() == ()
    assert [h.slug for h in store.documents.heads(put_away=True)] == ["apricot"]
    with pytest.raises(Stale):
        store.documents.save(Kind.DESSERT, "apricot", "x", by(), rev=base.rev)
    read = store.documents.version(Kind.DESSERT, "apricot")
    assert read.rev == head.rev  # so that a save can begin from what is read
    back = store.documents.put_away(Kind.DESSERT, "apricot", by(), rev=head.rev, away=False)
    assert [h.rev for h in store.documents.heads()] == [back.rev]


def test_names_that_are_taken_are_made_free_and_kinds_do_not_meet(store, by):
    slugs = [store.documents.begin(Kind.DESSERT, "Apricot", "x", by()).slug for _ in range(3)]
    assert slugs == ["apricot", "apricot-2", "apricot-3"]
    assert store.documents.begin(Kind.KITCHEN, "Apricot", "x", by()).slug == "apricot"
    assert [h.slug for h in store.documents.heads(Kind.KITCHEN)] == ["apricot"]
    with pytest.raises(AlreadyThere):
        store.documents.begin(Kind.DESSERT, "Other", "x", by(), slug="apricot-2")


@pytest.mark.parametrize("slug", ["../etc/passwd", "a/b", "A", "", "-a", "a-", "a\n", "é", "a" * 81, "a\0", "a.b"])
def test_a_short_name_is_never_a_path(store, by, slug):
    with pytest.raises(NotThere):
        store.documents.head(Kind.DESSERT, slug)
    if slug:
        with pytest.raises(BadInput):
            store.documents.begin(Kind.DESSERT, "x", "x", by(), slug=slug)


@pytest.mark.parametrize("text", ["a\0b", "\ud800", "x" * 1_000_001])
def test_a_text_that_cannot_be_kept_whole_is_refused(store, by, text):
    with pytest.raises(BadInput) as refused:
        store.documents.begin(Kind.DESSERT, "x", text, by())
    assert refused.value.remedy
    assert store.kept()["document"] == 0


@pytest.mark.parametrize("table", ["version", "audit"])
@pytest.mark.parametrize("statement", ["UPDATE {} SET who = 'x'", "DELETE FROM {}"])
def test_the_database_itself_refuses_to_change_what_only_grows(store, by, table, statement):
    store.documents.begin(Kind.DESSERT, "Apricot", "text", by())
    with pytest.raises(sqlalchemy.exc.DBAPIError, match="never changed"), store.database.engine.begin() as connection:
        connection.exec_driver_sql(statement.format(table))


def test_every_write_leaves_a_trace_and_a_refused_one_none(store, by):
    base = store.documents.begin(Kind.DESSERT, "Apricot", "a", by())
    two = store.documents.save(Kind.DESSERT, "apricot", "b", by("Bela", "sweeter"), rev=base.rev)
    with pytest.raises(Stale):
        store.documents.save(Kind.DESSERT, "apricot", "c", by(), rev=base.rev)
    store.documents.put_away(Kind.DESSERT, "apricot", by(), rev=two.rev)
    traces = store.audit.list(what="dessert apricot")
    assert [(t.act, t.who) for t in traces] == [("put away", "Ada"), ("saved", "Bela"), ("begun", "Ada")]
    assert traces[1].details == {"n": 2, "digest": digest_of("b"), "why": "sweeter"}
    assert store.audit.list(before=traces[0].id, most=1) == traces[1:2]


def test_a_draft_outlives_the_tablet_and_a_late_one_does_not_win(store, by):
    base = store.documents.begin(Kind.DESSERT, "Apricot", "a", by())
    at = datetime(2026, 5, 2, 7, tzinfo=UTC)
    keep = store.drafts.keep
    keep(Kind.DESSERT, "apricot", "Ada", "typed", at + timedelta(seconds=5), rev=base.rev)
    keep(Kind.DESSERT, "apricot", "Ada", "typ", at, rev=base.rev)  # arrives late
    draft = store.drafts.of(Kind.DESSERT, "apricot", "Ada")
    assert (draft.text, draft.rev) == ("typed", base.rev)
    assert store.drafts.of(Kind.DESSERT, "apricot", "Bela") is None
    assert store.drafts.all_of("Ada") == (draft,)
    store.drafts.drop(Kind.DESSERT, "apricot", "Ada", until=at)
    assert store.drafts.of(Kind.DESSERT, "apricot", "Ada") == draft
    store.drafts.drop(Kind.DESSERT, "apricot", "Ada")
    assert store.drafts.all_of("Ada") == ()


def test_a_moment_without_its_zone_is_refused():
    with pytest.raises(ValueError, match="zone"):
        By(who="Ada", at=datetime(2026, 5, 2))
    with pytest.raises(BadInput):
        By(who=" ", at=datetime(2026, 5, 2, tzinfo=UTC))


@given(st.text(max_size=120))
def test_a_short_name_made_from_any_name_is_one(name):
    slug = slug_of(name)
    assert slug.isascii()
    assert slug == slug_of(slug)
    assert set(slug) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")


# Anything a person can type: every sign but the two that no text holds.
typed = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=60)
acts = st.lists(
    st.tuples(st.sampled_from(["save", "stale", "restore", "branch"]), st.integers(0, 99), st.integers(0, 99), typed),
    max_size=14,
)


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(first=typed, acts=acts)
def test_any_row_of_acts_keeps_every_version_byte_for_byte(tmp_path_factory, first, acts):
    written = {}  # what a plain list of texts would hold
    moments = (datetime(2026, 1, 1, tzinfo=UTC) + timedelta(minutes=m) for m in itertools.count())
    with open_store(tmp_path_factory.mktemp("any") / "memory.sqlite") as store:
        written[store.documents.begin(Kind.DESSERT, "First", first, By(who="A", at=next(moments))).slug] = [first]
        for act, which, number, text in acts:
            slug = sorted(written)[which % len(written)]
            texts = written[slug]
            n = number % len(texts) + 1
            head = store.documents.head(Kind.DESSERT, slug)
            by = By(who="A", at=next(moments))
            if act == "branch":
                made = store.documents.branch(Kind.DESSERT, slug, text.strip()[:50] or "x", by, n=n)
                assert made.slug not in written
                written[made.slug] = [texts[n - 1]]
            elif act == "stale":
                if text != texts[-1]:
                    with pytest.raises(Stale):
                        store.documents.save(Kind.DESSERT, slug, text, by, rev=head.rev - 1)
            else:
                new = text if act == "save" else texts[n - 1]
                if act == "save":
                    store.documents.save(Kind.DESSERT, slug, text, by, rev=head.rev)
                else:
                    store.documents.restore(Kind.DESSERT, slug, n, by, rev=head.rev)
                if new != texts[-1]:
                    texts.append(new)
        for slug, texts in written.items():
            history = store.documents.history(Kind.DESSERT, slug)
            assert [v.text.encode() for v in reversed(history)] == [t.encode() for t in texts]
            assert [v.n for v in reversed(history)] == list(range(1, len(texts) + 1))
            assert all(v.digest == digest_of(v.text) for v in history)
        assert store.kept()["version"] == sum(map(len, written.values()))
