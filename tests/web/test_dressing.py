"""What a page wears: small, complete, under names that tell the content."""

from __future__ import annotations

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from demoule.sheets.tokens import DAY, NIGHT, contrast
from demoule.web import dressing


@pytest.fixture(scope="module")
def dress(tmp_path_factory: pytest.TempPathFactory) -> dressing.Dress:
    folder = tmp_path_factory.mktemp("dress") / "made"
    dressing.make(folder)
    return dressing.Dress(folder)


def _path(dress: dressing.Dress, name: str) -> Path:
    return dress.folder / dress(name).rsplit("/", 1)[-1]


def test_faces_hold_the_signs_of_both_languages_and_stay_small(dress: dressing.Dress) -> None:
    for name in ("sans", "sans-semibold", "serif", "serif-italic", "serif-semibold"):
        path = _path(dress, name)
        assert path.stat().st_size < 24_000
        known = TTFont(path).getBestCmap()
        for sign in "éœ°½⅓⅔−µ€ç" + ("→✓" if name.startswith("sans") else ""):
            assert ord(sign) in known, (name, sign)


def test_the_script_is_short_and_calls_nothing_from_elsewhere(dress: dressing.Dress) -> None:
    script = _path(dress, "demoule.js").read_text()
    assert len(script.splitlines()) < 450
    assert "http://" not in script
    assert "https://" not in script
    assert "eval(" not in script


def test_the_sheet_holds_both_themes(dress: dressing.Dress) -> None:
    sheet = _path(dress, "demoule.css").read_text()
    assert DAY.paper in sheet
    assert NIGHT.paper in sheet
    assert "@media print" in sheet
    assert "http" not in sheet


def test_the_name_changes_with_the_content(dress: dressing.Dress, tmp_path: Path) -> None:
    dressing.make(tmp_path / "again")
    assert dressing.Dress(tmp_path / "again")("demoule.css") == dress("demoule.css")


@pytest.mark.parametrize("theme", [DAY, NIGHT])
def test_text_reads_on_every_ground(theme) -> None:
    # WCAG 2.2, 1.4.3: 4.5 for text; 1.4.11: 3 for the borders of controls.
    for ink in (theme.ink, theme.ink_2, theme.damson, theme.stop, theme.caution, theme.note):
        assert contrast(ink, theme.paper) >= 4.5
        assert contrast(ink, theme.field) >= 4.5
    assert contrast(theme.edge, theme.field) >= 3
