"""What a page wears: fonts cut down to our signs, style sheet and script, each under a name that tells its content.

Made once, when demoule is set up or first served; the fonts come from the installed font packages.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import tempfile
from functools import cache
from importlib import metadata, resources
from importlib.util import find_spec
from pathlib import Path

__all__ = ["Dress", "dress", "make", "place"]

_FACES = {
    "sans": ("font_source_sans_pro", "SourceSansPro-Regular", 400, "normal"),
    "sans-semibold": ("font_source_sans_pro", "SourceSansPro-Semibold", 600, "normal"),
    "serif": ("font_source_serif_pro", "SourceSerifPro-Regular", 400, "normal"),
    "serif-italic": ("font_source_serif_pro", "SourceSerifPro-It", 400, "italic"),
    "serif-semibold": ("font_source_serif_pro", "SourceSerifPro-Semibold", 600, "normal"),
}
_THIN = 190  # thousandths of the type size
_FIRST = {"sans", "sans-semibold", "serif-italic"}
# Printable ASCII, the letters of French and its neighbours, and the signs of quantities.
_SIGNS = (
    "".join(chr(code) for code in range(0x20, 0x7F))
    + "ÀÂÆÇÈÉÊËÎÏÔŒÙÛÜŸàâæçèéêëîïôœùûüÿÄÖßäöÁÍÑÓÚáíñóúìòøåØÅ"
    + "°±×÷µ·«»“”‘’„–—…−½¼¾⅓⅔²³€£‹›→←↑↓✓☐Δ≤≥≈\u00a0\u202f\u2009"
)


class Dress:
    """Names of the made files: `dress("demoule.css")` is the address under which a page asks for it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._names: dict[str, str] = json.loads((folder / "names.json").read_text(encoding="utf-8"))

    def __call__(self, name: str) -> str:
        """The address of a made file."""
        return f"/static/{self._names[name]}"

    @property
    def first(self) -> list[str]:
        """Fonts that the first picture needs."""
        return [self(name) for name in _FACES if name in _FIRST]


def place() -> Path:
    """Where the made files stand: in the user's cache, in a folder that names what they were made from."""
    base = os.environ.get("DEMOULE_CACHE") or os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    return Path(base) / "demoule" / f"dress-{_origin()}"


@cache
def _origin() -> str:
    """A digest of everything that the files are made from."""
    found = hashlib.sha256(f"{_SIGNS}{_flavour()}{_THIN}".encode())
    static = resources.files("demoule.web").joinpath("static")
    for name in sorted(entry.name for entry in static.iterdir() if entry.is_file()):
        found.update(static.joinpath(name).read_bytes())
    tokens = resources.files("demoule").joinpath("sheets", "tokens.py")  # found, not imported: that loads the numerics
    found.update(tokens.read_bytes())
    for package in ("font-source-sans-pro", "font-source-serif-pro"):
        found.update(metadata.version(package).encode())
    return found.hexdigest()[:16]


def dress() -> Dress:
    """The made files, made now when they are not there yet."""
    folder = place()
    if not (folder / "names.json").is_file():
        make(folder)
    return Dress(folder)


def make(folder: Path) -> None:
    """Make all files; the folder appears whole or not at all."""
    folder.parent.mkdir(parents=True, exist_ok=True)
    work = Path(tempfile.mkdtemp(prefix=".dress-", dir=folder.parent))
    try:
        names: dict[str, str] = {}
        for name in _FACES:
            names[name] = _write(work, f"{name}.{_flavour()}", _font(name))
        static = resources.files("demoule.web").joinpath("static")
        sheet = _fonts_sheet(names) + _tokens_sheet() + static.joinpath("demoule.css").read_text(encoding="utf-8")
        names["demoule.css"] = _write(work, "demoule.css", sheet.encode())
        for name in ("demoule.js", "week.js", "week.css"):
            names[name] = _write(work, name, static.joinpath(name).read_bytes())
        names["mark.svg"] = _write(work, "mark.svg", static.joinpath("mark.svg").read_bytes())
        (work / "names.json").write_text(json.dumps(names), encoding="utf-8")
        try:
            work.replace(folder)
        except OSError:  # another process made it meanwhile
            shutil.rmtree(work, ignore_errors=True)
    except BaseException:
        shutil.rmtree(work, ignore_errors=True)
        raise


def _write(folder: Path, name: str, data: bytes) -> str:
    stem, _, ending = name.rpartition(".")
    hashed = f"{stem}.{hashlib.sha256(data).hexdigest()[:12]}.{ending}"
    (folder / hashed).write_bytes(data)
    return hashed


def _flavour() -> str:
    """WOFF2 where its packer is installed; WOFF, a quarter larger, needs none."""
    return "woff2" if find_spec("brotli") else "woff"


def _font(name: str) -> bytes:
    """A face cut down to our signs, packed for the web."""
    import io
    from importlib import import_module

    from fontTools import subset
    from fontTools.ttLib import TTFont

    package, file, _, _ = _FACES[name]
    source = Path(str(import_module(package).__file__)).parent / "files" / f"{file}.ttf"
    options = subset.Options()
    options.layout_features = ["kern", "liga", "tnum", "lnum", "ccmp", "mark", "locl"]
    options.hinting = False
    options.name_IDs = [1, 2, 13, 14]
    font = TTFont(source, recalcTimestamp=False)
    cutter = subset.Subsetter(options)
    cutter.populate(text=_SIGNS)
    cutter.subset(font)
    for sign in (0x202F, 0x2009):  # so thin that a number and its unit would touch
        glyph = font.getBestCmap().get(sign)
        if glyph is not None:
            advance, bearing = font["hmtx"][glyph]
            font["hmtx"][glyph] = (max(advance, _THIN), bearing)
    font.flavor = _flavour()
    made = io.BytesIO()
    font.save(made)
    return made.getvalue()


def _fonts_sheet(names: dict[str, str]) -> str:
    rules = []
    for name, (package, _, weight, style) in _FACES.items():
        family = "Source Sans Pro" if "sans" in package else "Source Serif Pro"
        rules.append(
            f"@font-face{{font-family:'{family}';font-weight:{weight};font-style:{style};font-display:swap;"
            f"src:url({names[name]}) format('{_flavour()}')}}\n"
        )
    return "".join(rules)


def _tokens_sheet() -> str:
    """The colours of day, night and print as custom properties."""
    from dataclasses import asdict

    from demoule.sheets.tokens import DAY, NIGHT, PRINT, TEMPERATURES, Tokens

    def rule(tokens: Tokens) -> str:
        pairs = (f"--{key.replace('_', '-')}:{value}" for key, value in asdict(tokens).items())
        return ";".join(pairs)

    warm = "".join(f"--t{index}:{colour};" for index, (_, colour) in enumerate(TEMPERATURES))
    return (
        f":root{{{warm}{rule(DAY)};color-scheme:light}}\n"
        f"@media (prefers-color-scheme:dark){{:root:not([data-theme=day]){{{rule(NIGHT)};color-scheme:dark}}}}\n"
        f":root[data-theme=night]{{{rule(NIGHT)};color-scheme:dark}}\n"
        f"@media print{{:root:root{{{rule(PRINT)};color-scheme:light}}}}\n"
    )
