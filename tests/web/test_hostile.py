"""Hostile files: each is told in a clear sentence, in bounded time and memory, whichever way it comes in.

Times are seconds of the processor, some times what they take, so that a busy machine does not matter; memory is by how
much the whole process grows at its highest.
"""

from __future__ import annotations

import io
import resource
import struct
import time
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from demoule.errors import DemouleError
from demoule.files import demo_text
from demoule.files.meshes import read_mesh
from demoule.store import Kind, Store
from demoule.web import working
from demoule.web.sheet_import import MOST_ROWS, sheet_told

from .conftest import token, typed

SECONDS, BYTES = 20.0, 300_000_000


def highest() -> int:
    """Bytes that the process held when it held most."""
    return 1024 * resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def bounded(call: Callable[[], Any]) -> Any:
    """What a call gives or raises of ours, held to the bounds of time and memory."""
    before, began = highest(), time.process_time()
    try:
        return call()
    except DemouleError as error:
        return error
    finally:
        spent, grown = time.process_time() - began, highest() - before
        assert spent < SECONDS, f"{spent:.1f} s of the processor"
        assert grown < BYTES, f"{grown / 1e6:.0f} MB"


HEAD = "demoule: 1\nname: Big\ncomponents:\n  mix:\n    weigh:\n"
FOOT = "piece: {mould: apricot 80 ml, body: mix}\n"
NEST = "a: &a [x,x,x,x,x,x,x,x,x]\n" + "".join(
    f"{after}: &{after} [{','.join(['*' + before] * 9)}]\n"
    for before, after in zip("abcdefgh", "bcdefghi", strict=True)
)
TEXTS = {
    "references that unfold a billionfold": (NEST, "reference"),
    "brackets in brackets": ("a: " + "[" * 50_000, "deeper than"),
    "braces in braces": ("a: " + "{a: " * 45_000, "deeper than"),
    "lines ever further in": ("".join(" " * k + f"a{k}:\n" for k in range(600)), "deeper than"),
    "a hundred thousand lines": (
        HEAD + "".join(f"      water {k}: 1 g\n" for k in range(100_000)) + FOOT, "at most 200 kB",
    ),
    "a hundred thousand short lines": ("a:\n" + "-\n" * 99_990, "name"),
    "twenty thousand documents": ("---\na: 1\n" * 20_000, "More than 200 documents"),
    "one line of twenty thousand values": ("a: [" + "1," * 20_000 + "]", "missing"),
    "a name of two hundred thousand signs": ("x" * 190_000 + ": 1", "colon"),
    "a quotation mark that never closes": ("a: '" + "''" * 90_000, "never closed"),
    "tabs": ("\t" * 100_000, "tab"),
    "a sign that no text holds": ("name: a\0b", "not YAML"),
    "half a sign": ("name: a\ud800b", ""),
    "marks of direction": ("name: \u202e\u2066a", "missing"),
    "letters on letters": ("name: e" + "\u0301" * 90_000, "missing"),
}  # fmt: skip


@pytest.mark.parametrize("what", TEXTS)
def test_a_hostile_text_is_told_to_who_typed_it(what: str) -> None:
    text, says = TEXTS[what]
    for question in ("bench_first", "bench"):
        told = bounded(
            lambda question=question: working.QUESTIONS[question](text=text, kitchen=demo_text("kitchen.yaml"))
        )
        assert told["answer"] is None
        assert told["mistakes"]
        assert len(told["mistakes"]) <= 200
        assert any(says in one["says"] for one in told["mistakes"]), told["mistakes"][:3]


@pytest.mark.parametrize("lines", [6_000])
def test_a_long_recipe_that_may_be_is_computed_in_bounded_time(lines: int) -> None:
    text = HEAD + "      - water: 1 g\n" * lines + FOOT
    told = bounded(lambda: working.QUESTIONS["bench_first"](text=text, kitchen=demo_text("kitchen.yaml")))
    assert told["answer"] is not None or told["mistakes"]


@pytest.mark.parametrize(("components", "weighs"), [(800, "water: 1 g"), (600, "mix {before}: all")])
def test_many_components_are_computed_in_bounded_time(components: int, weighs: str) -> None:
    body = "".join(
        f"  mix {k}:\n    weigh: {{{weighs.format(before=k - 1) if k else 'water: 1 kg'}}}\n" for k in range(components)
    )
    text = f"demoule: 1\nname: Big\ncomponents:\n{body}piece: {{mould: apricot 80 ml, body: mix 0}}\n"
    told = bounded(lambda: working.QUESTIONS["bench_first"](text=text, kitchen=demo_text("kitchen.yaml")))
    assert told["answer"] is not None or told["mistakes"]


@pytest.mark.parametrize("what", ["a hundred thousand lines", "references that unfold a billionfold", "tabs"])
def test_a_hostile_file_that_is_taken_in_leaves_nothing_behind(client: TestClient, store: Store, what: str) -> None:
    csrf = token(client.get("/").text)
    before = len(store.documents.heads(Kind.DESSERT))
    data = TEXTS[what][0].encode()[:1_900_000]
    answer = client.post("/take-in", data={"csrf": csrf}, files={"files": ("big.yaml", data)})
    assert answer.status_code in (413, 422)
    assert "big.yaml" in answer.text
    assert len(store.documents.heads(Kind.DESSERT)) == before


def test_a_hostile_program_is_told_in_the_shape_of_an_error(client: TestClient) -> None:
    for text in (NEST, TEXTS["tabs"][0], TEXTS["braces in braces"][0], TEXTS["half a sign"][0], ""):
        body = {"text": text}
        answer = client.post("/api/answers", json=body) if "\ud800" not in text else client.post(
            "/api/answers", content=b'{"text": "a: \\ud800"}', headers={"content-type": "application/json"}
        )  # fmt: skip
        assert answer.status_code in (200, 413, 422), text[:30]
        if answer.status_code == 200:
            assert answer.json()["mistakes"]
        else:
            assert answer.json()["error"]["says"]


def packed(**files: bytes) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as book:
        for name, data in files.items():
            book.writestr(name.replace("__", "/").replace("_xml", ".xml"), data)
    return made.getvalue()


def workbook(rows: str, strings: str = "") -> bytes:
    """A small workbook whose first sheet has these rows, as XML."""
    import openpyxl

    made = io.BytesIO()
    book = openpyxl.Workbook()
    book.active.append(["name", "price"])
    book.save(made)
    changed = io.BytesIO()
    with zipfile.ZipFile(made) as old, zipfile.ZipFile(changed, "w", zipfile.ZIP_DEFLATED) as new:
        for one in old.infolist():
            data = old.read(one.filename)
            if one.filename.endswith("sheet1.xml"):
                data = data.replace(b"</sheetData>", rows.encode() + b"</sheetData>")
            if strings and one.filename.endswith("sharedStrings.xml"):
                data = strings.encode()
            new.writestr(one.filename, data)
    return changed.getvalue()


ENTITIES = (
    '<?xml version="1.0"?><!DOCTYPE sst [<!ENTITY a "xxxxxxxxxx">'
    + "".join(f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip("abcdefgh", "bcdefghi", strict=True))
    + ']><sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><si><t>&i;</t></si></sst>'
)
OUTSIDE = (
    '<?xml version="1.0"?><!DOCTYPE sst [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
    '<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><si><t>name &a;</t></si></sst>'
)
SHEETS: dict[str, bytes] = {
    "a bomb": packed(xl__workbook_xml=b"\0" * 60_000_000),
    "a thousand parts": packed(**{f"part{k}": b"x" for k in range(1000)}),
    "no workbook": packed(a=b"b"),
    "half a workbook": workbook("")[:700],
    "a million columns": workbook('<row r="2"><c r="XFD2" t="inlineStr"><is><t>x</t></is></c></row>'),
    "a row far down": workbook('<row r="1048576"><c r="A1048576" t="inlineStr"><is><t>x</t></is></c></row>'),
    "entities that unfold": workbook("", ENTITIES),
    "an entity from elsewhere": workbook("", OUTSIDE),
    "many lines": b"name,price\n" + b"".join(b"thing %d,1\n" % k for k in range(14_000)),
    "lines without end": b"name,price\n" + b"\n" * 190_000,
    "one wide line": b"name," + b"," * 190_000 + b"\nx" + b"," * 5_000,
    "one open quotation mark": b'name,price\n"' + b"x" * 190_000,
    "no text": bytes(range(256)) * 700,
    "a formula": b"name,price\n=1+1,=cmd|' /C calc'!A0\n",
    "nothing": b"",
}


@pytest.mark.parametrize("what", SHEETS)
def test_a_hostile_sheet_is_told_line_by_line_or_refused(what: str) -> None:
    told = bounded(lambda: sheet_told(SHEETS[what], "sheet.xlsx" if SHEETS[what][:2] == b"PK" else "sheet.csv"))
    if isinstance(told, DemouleError):
        assert told.says
        assert "passwd" not in str(told)
        return
    assert len(told["entries"]) <= MOST_ROWS
    assert "root:" not in str(told)
    assert all(one["says"] for one in told["mistakes"])


LOGS: dict[str, bytes] = {
    "a reading a second for a day": b"time;core\n"
    + b"".join(b"%d:%02d:%02d;1\n" % (k // 3600, k // 60 % 60, k % 60) for k in range(86_400)),
    "no numbers": b"time,core\n" + b"x,y\n" * 40_000,
    "not a number": b"time,core\n" + b"".join(b"2026-01-01 00:%02d,nan\n" % (k % 60) for k in range(500)),
    "too great": b"time,core\n" + b"".join(b"2026-01-01 00:%02d,1e308\n" % k for k in range(60)),
    "always the same moment": b"time,core\n" + b"2026-01-01 00:00,1\n" * 20_000,
    "a thousand columns": b"time" + b",c" * 1000 + b"\n" + b"2026-01-01 00:00" + b",1" * 1000,
    "no text": bytes(range(256)) * 2_000,
    "one line": b"x" * 1_900_000,
    "years apart": b"time,core\n0001-01-01 00:00,1\n9999-12-31 23:59,2\n0001-01-01 00:00,3\n",
    "nothing": b"",
}  # fmt: skip


@pytest.mark.parametrize("what", LOGS)
def test_a_hostile_log_is_told_or_refused(what: str) -> None:
    told = bounded(lambda: working.QUESTIONS["log_told"](data=LOGS[what], name="log.csv"))
    if isinstance(told, DemouleError):
        assert told.says
        return
    assert len(str(told)) < 200_000


def test_a_hostile_log_on_the_page_is_no_fault(client: TestClient) -> None:
    csrf = typed(client.get("/bench/apricot").text)["csrf"]
    for data in (LOGS["no text"], LOGS["nothing"], LOGS["too great"]):
        answer = client.post(
            "/cold/apricot/probe", data={"csrf": csrf, "act": "learn", "stage": "harden piece"},
            files={"log": ("log.csv", data)},
        )  # fmt: skip
        assert answer.status_code in (200, 422)


TRIANGLE = struct.pack("<12fH", *([0.0] * 12), 0)
MESHES: dict[str, bytes] = {
    "a count that is not there": b"\0" * 80 + struct.pack("<I", 4_000_000_000) + TRIANGLE,
    "flat triangles": b"\0" * 80 + struct.pack("<I", 20_000) + TRIANGLE * 20_000,
    "no numbers": b"\0" * 80 + struct.pack("<I", 2) + struct.pack("<12fH", *([float("nan")] * 12), 0) * 2,
    "without end": b"\0" * 80 + struct.pack("<I", 2) + struct.pack("<12fH", *([float("inf")] * 12), 0) * 2,
    "words": b"solid x\nfacet normal 0 0 1\nouter loop\nvertex a b c\nendloop\nendfacet\nendsolid",
    "half a word": b"solid x\n" + b"facet normal 0 0 1\n outer loop\n  vertex 0 0 0\n" * 5_000,
    "nothing": b"",
}


@pytest.mark.parametrize("what", MESHES)
def test_a_hostile_mesh_is_refused(tmp_path: Path, what: str) -> None:
    path = tmp_path / "cavity.stl"
    path.write_bytes(MESHES[what])
    told = bounded(lambda: read_mesh(path, "mm"))
    assert isinstance(told, DemouleError)
    assert told.says
