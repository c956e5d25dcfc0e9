"""The pages do what they say: their commands run, their files are read, their links lead somewhere."""

import contextlib
import io
import json
import re
import shlex
import shutil
from pathlib import Path
from unittest import mock

import pytest

from demoule.batch import plain_kitchen
from demoule.cli.main import run
from demoule.files import read_desserts, read_kitchen, read_orders
from demoule.files.events import read_events
from demoule.larder import standard_larder
from demoule.worked import work_up

ROOT = Path(__file__).resolve().parents[2]
DOCS = ROOT / "docs"
EXAMPLES = DOCS / "examples"
PAGES = sorted([*DOCS.rglob("*.md"), ROOT / "README.md"])
FENCE = re.compile(r"(?:<!-- (?P<told>[^>]*) -->\n)?^```(?P<kind>\w*)\n(?P<text>.*?)^```$", re.MULTILINE | re.DOTALL)


def name(path):
    return str(path.relative_to(ROOT))


def fences(page):
    """Kind, what a comment before it tells ("file: NAME", "ends with CODE"), and text of each fenced block."""
    return [(m["kind"], m["told"] or "", m["text"]) for m in FENCE.finditer(page.read_text(encoding="utf-8"))]


RUNNING = [page for page in PAGES if any(kind == "console" for kind, _, _ in fences(page))]


def typed(words):
    """What a command prints and the code it ends with, run in this process."""
    out = io.StringIO()
    code = 0
    with mock.patch("sys.argv", words), contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        try:
            run()
        except SystemExit as end:
            code = end.code or 0
    return out.getvalue(), code


# Times are compared in minutes, whether they are said as "70 min" or "1 h 10".
UNITS = {"s": 1 / 60, "min": 1, "h": 60, "d": 1440, "day": 1440, "days": 1440}
_RANGE = re.compile(r"(?<![\d.])(?<!h )(\d+)–(\d+) (h|min|s)\b")
_TIME = re.compile(
    r"(?<![\d.])(\d+) (days?|d|h|min|s)\b(?: (\d\d?)(?: (min|s|h)\b)?(?![\d.]| ?(?:k?g|m?l|mm|°|%|kcal|kJ)))?"
)
_NUMBER = re.compile(r"\d+(?:\.\d+)?")


def plain(text):
    """One line, usual blanks and signs, times in minutes."""
    text = re.sub(r"(?<=\d)\u202f(?=\d{3})", "", text)
    text = re.sub(r"[\s\u202f\u00a0]+", " ", text).replace("−", "-")
    text = _RANGE.sub(r"\1 \3–\2 \3", text)

    def minutes(m):
        rest = int(m[3]) * (UNITS[m[4]] if m[4] else 1 if m[2] == "h" else 1 / 60) if m[3] else 0
        return f"{int(m[1]) * UNITS[m[2]] + rest:.1f} min"

    return _TIME.sub(minutes, text).strip()


def assert_shown(shown, printed):
    """Every stretch of the block between lines "…" stands in what was printed; numbers within a fifth, or one unit."""
    rest = plain(printed)
    for stretch in re.split(r"^…$", shown, flags=re.MULTILINE):
        words = plain(stretch)
        if not words:
            continue
        numbers = [float(n) for n in _NUMBER.findall(words)]
        pattern = r"(\d+(?:\.\d+)?)".join(re.escape(part) for part in _NUMBER.split(words))
        found = re.search(pattern, rest)
        assert found, f"not printed: {words!r}\nprinted: {rest!r}"
        for wanted, got in zip(numbers, map(float, found.groups()), strict=True):
            digit = 10 ** -len(f"{wanted}".partition(".")[2].rstrip("0"))
            assert got == pytest.approx(wanted, rel=0.2, abs=1.01 * digit), f"{got} for {wanted} in {words!r}"
        rest = rest[found.end() :]


@pytest.mark.parametrize("page", RUNNING, ids=name)
def test_the_commands_of_a_page_do_what_it_shows(page, tmp_path, monkeypatch):
    shutil.copytree(EXAMPLES, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    for kind, told, text in fences(page):
        if told.startswith("file: "):
            Path(told.removeprefix("file: ")).write_text(text, encoding="utf-8")
        if kind != "console":
            continue
        code = int(told.removeprefix("ends with ")) if told.startswith("ends with ") else 0
        for block in re.split(r"^\$ ", text, flags=re.MULTILINE)[1:]:
            command, _, shown = block.partition("\n")
            words = shlex.split(command.removesuffix("\\"))
            if words[0] == "cat":
                printed, ended = "".join(Path(w).read_text(encoding="utf-8-sig") for w in words[1:]), 0
            elif words[0] == "ls":
                printed, ended = "\n".join(sorted(p.name for p in Path(words[1]).iterdir())), 0
            else:
                assert words[0] == "demoule", f"the page shows another command: {command}"
                printed, ended = typed(words)
            assert ended == code, f"{command} ended with {ended}:\n{printed}"
            assert_shown(shown, printed)


@pytest.mark.parametrize(
    ("page", "number"),
    [
        pytest.param(page, i, id=f"{name(page)}-{i}")
        for page in PAGES
        for i, (kind, told, text) in enumerate(fences(page))
        if kind == "yaml" and "demoule: 1" in text and "wrong" not in told
    ],
)
def test_a_whole_file_on_a_page_is_read(page, number, tmp_path):
    _, _, text = fences(page)[number]
    file = tmp_path / "shown.yaml"
    file.write_text(text, encoding="utf-8")
    if re.search(r"^kitchen:", text, re.MULTILINE):
        assert read_kitchen(file).name
    elif re.search(r"^orders:", text, re.MULTILINE):
        assert read_orders(file).orders
    elif re.search(r"^now:", text, re.MULTILINE):
        assert read_events(file).now
    else:
        assert read_desserts(file, standard_larder())


@pytest.mark.parametrize("file", sorted(EXAMPLES.glob("*.yaml")), ids=name)
def test_every_example_works_up(file):
    text = file.read_text(encoding="utf-8")
    if re.search(r"^kitchen:", text, re.MULTILINE):
        assert read_kitchen(file).rooms
        return
    if re.search(r"^orders:", text, re.MULTILINE):
        assert read_orders(file).orders
        return
    own = file.with_name(f"{file.stem}-kitchen.yaml")
    kitchen = read_kitchen(own) if own.is_file() else plain_kitchen(standard_larder())
    for dessert in read_desserts(file, kitchen.larder, kitchen):
        worked = work_up(dessert, kitchen, 12)
        assert worked.piece.mass > 0
        assert worked.cold.stage("harden piece").time is not None


@pytest.mark.parametrize(
    "block",
    [text for page in PAGES for kind, _, text in fences(page) if kind == "python"],
    ids=lambda text: text.partition("\n")[0],
)
def test_the_python_blocks_run(block):
    exec(compile(block, "page", "exec"), {})


def told_keys(section):
    """Keys of the tables of one section of the JSON page."""
    text = (DOCS / "reference" / "json.md").read_text(encoding="utf-8")
    part = text.partition(f"\n## {section}\n")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| (`.*?) \|", part, re.MULTILINE)
    return {key for row in rows for key in re.findall(r"`([a-z_0-9]+)`", row)}


@pytest.mark.parametrize(
    ("section", "command"),
    [
        ("dossier", ["work-up", str(EXAMPLES / "raspberry-minimal.yaml")]),
        ("ask", ["ask", "brix", "mix=sucrose 1 g, water 1 g"]),
        ("larder", ["larder", "fig"]),
        ("models", ["models"]),
    ],
)
def test_the_json_page_names_every_key(section, command):
    printed, _ = typed(["demoule", *command, "--json"])
    told = json.loads(printed)
    assert set(told[0] if isinstance(told, list) else told) == told_keys(section)


def test_the_tutorial_ends_with_the_example():
    blocks = [
        text for _, told, text in fences(DOCS / "tutorial" / "your-first-dessert.md") if told == "file: pear.yaml"
    ]
    assert blocks[-1] == (EXAMPLES / "pear.yaml").read_text(encoding="utf-8")


LINK = re.compile(r"!?\[[^\]]*\]\(([^)\s]+)\)")
HEADING = re.compile(r"^#+ (.*)$", re.MULTILINE)


def anchors(page):
    text = re.sub(r"^```.*?^```$", "", page.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)
    heads = (re.sub(r"[`*]|\[([^\]]*)\]\([^)]*\)", r"\1", h) for h in HEADING.findall(text))
    return {re.sub(r"[^\w\- ]", "", h.lower()).replace(" ", "-") for h in heads}


@pytest.mark.parametrize("page", PAGES, ids=name)
def test_every_link_leads_somewhere(page):
    text = re.sub(r"^```.*?^```$", "", page.read_text(encoding="utf-8"), flags=re.MULTILINE | re.DOTALL)
    for link in LINK.findall(text):
        if link.startswith(("http://", "https://", "mailto:")):
            continue
        file, _, anchor = link.partition("#")
        target = (page.parent / file).resolve() if file else page
        assert target.exists(), f"{link} leads nowhere"
        assert target.is_relative_to(ROOT), f"{link} leads out of the project"
        if anchor and target.suffix == ".md":
            assert anchor in anchors(target), f"{link}: no such heading"


def test_every_page_can_be_found_from_the_readme():
    waiting, seen = [ROOT / "README.md"], set()
    while waiting:
        page = waiting.pop()
        if page in seen or page.suffix != ".md":
            continue
        seen.add(page)
        for link in LINK.findall(page.read_text(encoding="utf-8")):
            target = (page.parent / link.partition("#")[0]).resolve()
            if target.is_file() and target.is_relative_to(ROOT):
                waiting.append(target)
    assert {page for page in PAGES if page not in seen} == set()
