"""The memory and the accounts from the terminal."""

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from demoule.cli.keep_commands import keep, people
from demoule.files import demo_text


@pytest.fixture
def demoule(tmp_path):
    environment = {**os.environ, "DEMOULE_DATABASE": str(tmp_path / "memory.sqlite")}

    def run(*arguments, typed="", code=0):
        done = subprocess.run(
            [sys.executable, "-m", "demoule", *map(str, arguments)],
            input=typed.encode(),
            capture_output=True,
            timeout=120,
            check=False,
            env=environment,
        )
        assert done.returncode == code, done.stderr.decode()
        assert b"Traceback" not in done.stderr
        return (done.stdout if code == 0 else done.stderr).decode()

    return run


def test_a_dessert_is_kept_changed_compared_branched_and_brought_back(demoule, tmp_path):
    file = tmp_path / "apricot.yaml"
    text = demo_text("apricot.yaml")
    file.write_bytes(text.encode())
    assert "apricot, version 1, new" in demoule("keep", "take-in", file, "--who", "Ada")
    sweeter = text.replace("sugar: 130 g, agar", "sugar: 150 g, agar")
    assert sweeter != text
    file.write_bytes(sweeter.encode())
    assert "version 2, a new version" in demoule("keep", "take-in", file, "--why", "sweeter", "--who", "Ada")
    assert "unchanged" in demoule("keep", "take-in", file, "--who", "Ada")
    history = json.loads(demoule("keep", "history", "apricot", "--json"))
    assert [(one["n"], one["why"]) for one in history] == [(2, "sweeter"), (1, "")]
    moved = json.loads(demoule("keep", "compare", "apricot", "1", "--json"))
    assert [one["kind"] for one in moved] == ["gone", "come"]
    assert "sugar: 150 g" in moved[1]["text"]
    assert "begins from Apricot, version 1" in demoule(
        "keep", "branch", "apricot", "With honey", "--version", "1", "--who", "Ada", "--why", "try with honey"
    )
    assert "version 3 is version 1 again" in demoule("keep", "bring-back", "apricot", "1", "--who", "Ada")
    assert demoule("keep", "show", "apricot") == text
    demoule("keep", "put-away", "with-honey", "--who", "Ada")
    assert "with-honey" not in demoule("keep", "list")
    demoule("keep", "give-out", tmp_path / "out", "--all")
    assert (tmp_path / "out" / "desserts" / "with-honey.yaml").read_bytes() == text.encode()
    assert "did you mean “apricot”?" in demoule("keep", "show", "apricto", code=2)


def test_a_folder_with_one_bad_file_is_taken_in_but_for_it(demoule, tmp_path):
    folder = tmp_path / "files"
    folder.mkdir()
    (folder / "kitchen.yaml").write_text(demo_text("kitchen.yaml"), encoding="utf-8")
    (folder / "bad.yaml").write_text("- milk\n")
    told = demoule("keep", "take-in", folder, "--who", "Ada", code=2)
    assert "bad.yaml: not taken in" in told
    assert [head["slug"] for head in json.loads(demoule("keep", "list", "--json"))] == ["kitchen"]


def test_everything_is_backed_up_checked_and_restored(demoule, tmp_path):
    file = tmp_path / "orders.yaml"
    file.write_text(demo_text("orders.yaml"), encoding="utf-8")
    demoule("keep", "take-in", file, "--who", "Ada")
    back_up = tmp_path / "night.demoule"
    kept = json.loads(demoule("keep", "back-up", back_up, "--json"))
    assert kept["rows"]["version"] == 1
    assert "is whole" in demoule("keep", "check", back_up)
    assert "say --replace" in demoule("keep", "restore", back_up, code=2)
    assert "What stood there before" in demoule("keep", "restore", back_up, "--replace", "--who", "Ada")
    other = tmp_path / "other.sqlite"
    demoule("keep", "restore", back_up, "--database", other, "--who", "Ada")
    where = json.loads(demoule("keep", "where", "--database", other, "--json"))
    assert (where["database"], where["rows"]["version"]) == (str(other), 1)
    back_up.write_bytes(back_up.read_bytes()[:-20])
    assert "not a whole back-up" in demoule("keep", "check", back_up, code=2)


def test_people_are_added_reset_listed_and_removed(demoule):
    assert "add the owner first" in demoule("people", "add", "Bela", "--role", "cook", code=2)
    told = demoule("people", "add", "Ada", "--temporary")
    assert "as owner" in told
    password = told.rpartition(": ")[2].strip()
    assert len(password) == 23
    assert "as cook" in demoule("people", "add", "Bela", typed="four plain words here\n")
    assert "fewer than" in demoule("people", "add", "Cleo", typed="short\n", code=2)
    assert "No password" in demoule("people", "add", "Cleo", code=2)
    assert "signed out everywhere" in demoule("people", "reset", "bela", "--temporary")
    assert "is chef now" in demoule("people", "role", "Bela", "chef")
    everybody = json.loads(demoule("people", "list", "--json"))
    assert [(one["name"], one["role"], one["must_change"]) for one in everybody] == [
        ("Ada", "owner", True),
        ("Bela", "chef", True),
    ]
    assert "did you mean “reader”?" in demoule("people", "role", "Bela", "raeder", code=2)
    assert "last owner" in demoule("people", "remove", "Ada", code=2)
    demoule("people", "remove", "Bela")
    trail = demoule("people", "trail")
    assert "person Bela" in trail
    assert password not in trail


def test_help_of_the_memory_loads_no_database():
    done = subprocess.run(
        [sys.executable, "-X", "importtime", "-m", "demoule", "keep", "--help"],
        capture_output=True,
        text=True,
        check=True,
    )
    loaded = {line.rpartition("|")[2].strip().partition(".")[0] for line in done.stderr.splitlines()}
    assert not loaded & {"sqlalchemy", "alembic", "psycopg", "argon2", "numpy"}


def test_the_guide_names_only_what_can_be_typed():
    guide = Path(__file__).parents[2] / "docs" / "how-to" / "keep-and-share.md"
    groups = {"keep": typer.main.get_command(keep), "people": typer.main.get_command(people)}
    typed = re.findall(r"demoule (keep|people) ([a-z-]+)([^\n`]*)", guide.read_text(encoding="utf-8"))
    assert {words[1] for words in typed} == {*groups["keep"].commands, *groups["people"].commands} - {"show"}
    for group, command, rest in typed:
        options = {name for one in groups[group].commands[command].params for name in one.opts}
        assert set(re.findall(r"--[a-z-]+", rest.partition("#")[0])) <= options, (group, command, rest)
