"""Pages made from the product are current; numbers may differ in digits that another processor would change."""

import re
import sys
from pathlib import Path

import pytest

from demoule.composition import MOLAR_MASS, Constituent

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
REMEDY = "run .venv/bin/python scripts/docs"
NUMBER = re.compile(r"[-−+]?\d+(?:\.\d+)?")


@pytest.fixture(scope="module")
def pages():
    sys.path.insert(0, str(ROOT / "scripts" / "docs"))
    try:
        from docpages import all_pages

        return all_pages()
    finally:
        sys.path.remove(str(ROOT / "scripts" / "docs"))


def value(text):
    return float(text.replace("−", "-").replace("+", ""))


def differences(made, kept, *, loose):
    """Where two texts differ beyond what the last digit of a computation may."""
    if NUMBER.split(made) != NUMBER.split(kept):
        ours, theirs = NUMBER.split(made), NUMBER.split(kept)
        first = next((i for i, (a, b) in enumerate(zip(ours, theirs, strict=False)) if a != b), -1)
        return [f"words: {ours[first][:200]!r} is kept as {theirs[first][:200]!r}"]
    found = []
    for ours, theirs in zip(NUMBER.findall(made), NUMBER.findall(kept), strict=True):
        a, b = value(ours), value(theirs)
        places = max(len(ours.partition(".")[2]), len(theirs.partition(".")[2]))
        # One unit of the last digit shown, or a few drawing units of a picture.
        if abs(a - b) > max(1.01 * 10**-places, 0.02 * abs(b), loose):
            found.append(f"{theirs} is now {ours}")
    return found


def test_every_generated_page_is_kept(pages):
    assert not [name for name in pages if not (DOCS / name).is_file()], REMEDY


def test_no_picture_is_left_over(pages):
    kept = {f"explanation/pictures/{path.name}" for path in (DOCS / "explanation" / "pictures").glob("*.svg")}
    assert kept <= set(pages), REMEDY


def test_generated_pages_are_current(pages):
    wrong = {}
    for name, made in pages.items():
        kept = (DOCS / name).read_text(encoding="utf-8")
        if found := differences(made, kept, loose=1.5 if name.endswith(".svg") else 0.0):
            wrong[name] = found[:3]
    assert not wrong, f"{REMEDY}\n" + "\n".join(f"{name}: {found}" for name, found in wrong.items())


def test_the_commands_page_tells_what_help_tells(pages):
    from docpages.commands import group, leaves

    from demoule.cli.main import app  # noqa: F401 (the page reads the same object)

    text = pages["reference/commands.md"]
    for command, parsed in leaves(group()):
        section = text.partition(f"\n## {command}\n")[2].partition("\n## ")[0]
        assert section, f"{command} is not on the page"
        helped = parsed.get_help(parsed.make_context(command, [], resilient_parsing=True))
        told = set(re.findall(r"--[a-z-]+", helped)) - {"--help"}
        assert told == set(re.findall(r"`(--[a-z-]+)`", section))


def test_every_constituent_is_explained():
    text = (DOCS / "reference" / "constituents.md").read_text(encoding="utf-8")
    rows = dict(re.findall(r"^\| `([^`]+)` \| ([^|]+) \|", text, re.MULTILINE))
    assert list(rows) == [c.name.lower().replace("_", " ") for c in Constituent]
    for constituent, mass in zip(Constituent, rows.values(), strict=True):
        known = MOLAR_MASS[constituent] * 1000
        if known == known:
            assert float(mass) == pytest.approx(known, rel=1e-3)
        else:
            assert mass.strip() == "–"
