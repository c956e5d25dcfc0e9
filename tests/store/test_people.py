"""Only who may gets in, guessing waits longer each time, and nothing secret is written down."""

import itertools
import threading
from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import text

from demoule.errors import BadInput
from demoule.store import (
    PERMISSIONS,
    Act,
    AlreadyThere,
    By,
    NotAllowed,
    NotSignedIn,
    NotThere,
    Role,
    Waiting,
    may,
    passwords,
    require,
    temporary_password,
    wait_after,
)

AT = datetime(2026, 5, 2, 8, 0, tzinfo=UTC)
GOOD, OTHER = "four plain words here", "quite another phrase"


@pytest.fixture
def ada(store, by):
    return store.people.add("Ada", Role.OWNER, GOOD, by("the machine"))


def test_a_person_signs_in_and_is_known_by_the_token_alone(store, ada):
    signed = store.sessions.sign_in("  aDA ", GOOD, AT, about="tablet\n2")
    assert signed.person == ada
    assert signed.expires == AT + timedelta(days=14)
    assert store.sessions.person_of(signed.token, AT) == ada
    assert store.sessions.person_of(signed.token[:-1], AT) is None
    assert store.sessions.person_of("", AT) is None
    assert store.sessions.person_of("\ud800", AT) is None
    (session,) = store.sessions.of("ada", AT)
    assert (session.person, session.about) == ("Ada", "tablet 2")
    assert signed.token not in repr(signed)


@pytest.mark.parametrize(("name", "password"), [("Ada", OTHER), ("Nobody", GOOD), ("", ""), ("A\0da\ud800", "\ud800")])
def test_what_is_wrong_is_answered_in_one_wording(store, ada, name, password):
    with pytest.raises(NotSignedIn) as refused:
        store.sessions.sign_in(name, password, AT)
    assert refused.value.says == "The name or the password is not right."


def test_an_é_is_an_é_on_every_keyboard(store, by):
    store.people.add("Zoé", Role.COOK, "crème brûlée à l’eau", by())
    assert store.sessions.sign_in("Zoé", "cre\u0300me bru\u0302le\u0301e a\u0300 l’eau", AT).person.name == "Zoé"


def test_waits_grow_and_count_for_names_that_nobody_bears(store, ada):
    for name in ("Ada", "Nobody"):
        moment, waits = AT, []
        for _ in range(9):
            try:
                with pytest.raises(NotSignedIn):
                    store.sessions.sign_in(name, "wrong", moment)
            except Waiting:
                pytest.fail("asked to wait too early")
            with_wait = wait_after(len(waits) + 1)
            waits.append(with_wait)
            if with_wait:
                with pytest.raises(Waiting) as waiting:
                    store.sessions.sign_in(name, GOOD, moment)  # even the right one
                assert waiting.value.seconds == with_wait.total_seconds()
            moment += with_wait
        assert [int(wait.total_seconds()) for wait in waits] == [0, 0, 0, 0, 15, 30, 60, 120, 240]
        if name == "Ada":
            assert store.sessions.sign_in("Ada", GOOD, moment).person == ada
            with pytest.raises(NotSignedIn):  # the count began afresh
                store.sessions.sign_in("Ada", "wrong", moment)


def test_guesses_all_at_once_are_counted_before_they_are_weighed(store, ada, monkeypatch):
    weighed = []
    monkeypatch.setattr("demoule.store.sessions.is_right", lambda *words: bool(weighed.append(words)))
    start = threading.Barrier(12)

    def guess(number):
        start.wait()
        with pytest.raises((NotSignedIn, Waiting)):
            store.sessions.sign_in("Ada", f"guess {number}", AT)

    threads = [threading.Thread(target=guess, args=(number,)) for number in range(12)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(weighed) == 5


def test_a_session_ends_by_age_by_rest_and_by_hand(store, ada, by):
    token = store.sessions.sign_in("Ada", GOOD, AT).token
    moment = AT
    while moment < AT + timedelta(days=13, hours=12):
        assert store.sessions.person_of(token, moment) == ada
        moment += timedelta(hours=20)
    assert store.sessions.person_of(token, AT + timedelta(days=14)) is None
    rested = store.sessions.sign_in("Ada", GOOD, AT).token
    assert store.sessions.person_of(rested, AT + timedelta(hours=24)) is None
    left = store.sessions.sign_in("Ada", GOOD, AT).token
    store.sessions.end(left, by())
    assert store.sessions.person_of(left, AT) is None
    assert store.sessions.tidy(AT + timedelta(days=20)) == 2
    assert store.kept()["session"] == 0


@pytest.mark.parametrize(
    "act",
    [
        lambda people, by: people.set_password("Bela", OTHER, by),
        lambda people, by: people.change_password("Bela", GOOD, OTHER, by),
        lambda people, by: people.change_role("Bela", Role.READER, by),
        lambda people, by: people.remove("Bela", by),
    ],
)
def test_a_change_of_an_account_ends_its_sessions_and_no_other(store, ada, by, act):
    store.people.add("Bela", Role.COOK, GOOD, by())
    theirs, mine = (store.sessions.sign_in(name, GOOD, AT).token for name in ("Bela", "Ada"))
    act(store.people, by())
    assert store.sessions.person_of(theirs, AT) is None
    assert store.sessions.person_of(mine, AT) == ada


def test_a_reset_by_the_machine_lets_a_waiting_person_in(store, ada, by):
    for _ in range(5):
        with pytest.raises(NotSignedIn):
            store.sessions.sign_in("Ada", "wrong", AT)
    with pytest.raises(Waiting):
        store.sessions.sign_in("Ada", GOOD, AT)
    given = temporary_password()
    store.people.set_password("ada", given, by("the machine"), must_change=True)
    assert store.sessions.sign_in("Ada", given, AT).person.must_change
    store.people.change_password("Ada", given, OTHER, by())
    assert not store.sessions.sign_in("Ada", OTHER, AT).person.must_change
    with pytest.raises(NotSignedIn):
        store.sessions.sign_in("Ada", given, AT)


def test_a_wrong_old_password_counts_as_a_guess(store, ada):
    for _ in range(5):
        with pytest.raises(NotSignedIn):
            store.people.change_password("Ada", "wrong", OTHER, By(who="Ada", at=AT))
    with pytest.raises(Waiting):
        store.people.change_password("Ada", GOOD, OTHER, By(who="Ada", at=AT))
    with pytest.raises(BadInput, match="is the old one"):
        store.people.change_password("Ada", GOOD, GOOD, By(who="Ada", at=AT + timedelta(hours=1)))


def test_the_last_owner_stays(store, ada, by):
    with pytest.raises(BadInput, match="last owner"):
        store.people.remove("Ada", by())
    with pytest.raises(BadInput, match="last owner"):
        store.people.change_role("Ada", Role.CHEF, by())
    store.people.add("Bela", Role.OWNER, GOOD, by())
    store.people.remove("Ada", by())
    assert [person.name for person in store.people.list()] == ["Bela"]
    with pytest.raises(NotThere):
        store.people.get("Ada")
    with pytest.raises(NotSignedIn):
        store.sessions.sign_in("Ada", GOOD, AT)


def test_a_removed_name_can_be_given_again_and_a_borne_one_cannot(store, ada, by):
    with pytest.raises(AlreadyThere):
        store.people.add("ADA", Role.COOK, GOOD, by())
    store.people.add("Bela", Role.CHEF, GOOD, by())
    store.people.remove("Bela", by())
    again = store.people.add("bela", Role.READER, OTHER, by())
    assert (again.role, again.removed) == (Role.READER, False)
    assert [person.name for person in store.people.list(removed=True)] == ["Ada", "bela"]


@pytest.mark.parametrize("password", ["short", "x" * 300, "aaaaaaaaaaaaaaaa", "ababababababab", "Ada-1234"])
def test_weak_passwords_are_refused(store, by, password):
    with pytest.raises(BadInput):
        store.people.add("Ada", Role.OWNER, password, by())
    assert not store.people.any()


@pytest.mark.parametrize("name", ["", " ", "x" * 81, "a\nb\x07", "\u202e"])
def test_names_that_cannot_be_read_are_refused(store, by, name):
    with pytest.raises(BadInput):
        store.people.add(name, Role.OWNER, GOOD, by())


def test_nothing_secret_is_kept_or_written_down(store, ada, by):
    secrets = [GOOD, OTHER, "typed into the name field"]
    secrets.append(store.sessions.sign_in("Ada", GOOD, AT).token)
    with pytest.raises(NotSignedIn):
        store.sessions.sign_in("Ada", OTHER, AT)
    with pytest.raises(NotSignedIn):
        store.sessions.sign_in("typed into the name field", OTHER, AT)
    store.people.set_password("Ada", OTHER, by())
    everything = ""
    with store.database.read() as session:
        for table in ("person", "session", "audit"):
            everything += repr(session.execute(text(f"SELECT * FROM {table}")).all())
    assert [secret for secret in secrets if secret in everything] == []
    assert "$argon2id$" in everything
    assert [trace.act for trace in store.audit.list()] == [
        "reset password",
        "sign-in refused",
        "sign-in refused",
        "signed in",
        "added",
    ]


def test_a_hash_of_an_older_cost_is_made_anew_at_the_next_sign_in(store, ada):
    cheap = passwords.PasswordHasher(time_cost=1, memory_cost=1024, parallelism=1)
    with store.database.write() as session:
        session.execute(text("UPDATE person SET password_hash = :hash"), {"hash": cheap.hash(GOOD)})
    store.sessions.sign_in("Ada", GOOD, AT)
    with store.database.read() as session:
        kept = session.execute(text("SELECT password_hash FROM person")).scalar()
    assert not passwords.needs_new_hash(kept)
    assert "m=65536,t=3,p=4" in kept  # RFC 9106, section 4, second recommended option (recalled)


def test_each_role_holds_what_the_one_below_holds():
    order = [Role.READER, Role.COOK, Role.CHEF, Role.OWNER]
    assert set(PERMISSIONS) == set(order) == set(Role)
    for less, more in itertools.pairwise(order):
        assert PERMISSIONS[less] < PERMISSIONS[more]
    assert PERMISSIONS[Role.OWNER] == set(Act)
    table = {
        (Role.READER, Act.RECORD): False,
        (Role.COOK, Act.RECORD): True,
        (Role.COOK, Act.DESIGN): False,
        (Role.CHEF, Act.DESIGN): True,
        (Role.CHEF, Act.PEOPLE): False,
        (Role.CHEF, Act.AUDIT): False,
        (Role.CHEF, Act.CARRY): False,
    }
    assert {pair: may(*pair) for pair in table} == table


def test_what_is_not_allowed_says_who_may(store, by):
    cook = store.people.add("Bela", Role.COOK, GOOD, by())
    require(cook, Act.RECORD)
    with pytest.raises(NotAllowed, match=r"Bela \(cook\) may not change desserts") as refused:
        require(cook, Act.DESIGN)
    assert refused.value.remedy == "ask somebody who is a chef."


def test_temporary_passwords_differ_and_are_strong_enough_to_be_taken():
    made = {temporary_password() for _ in range(50)}
    assert len(made) == 50
    for password in made:
        passwords.checked_password(password, "Ada")
