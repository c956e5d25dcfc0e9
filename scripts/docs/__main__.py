"""Writes the pages that are made from the product itself: `.venv/bin/python scripts/docs`.

Only files whose text changed are written, and pictures that no page shows any more are removed.
"""

from __future__ import annotations

import sys
from pathlib import Path

from docpages import all_pages

ROOT = Path(__file__).resolve().parents[2]


def main() -> int:
    """Bring every generated page up to date and say which ones changed."""
    pages = all_pages()
    folder = ROOT / "docs"
    for old in sorted((folder / "explanation" / "pictures").glob("*.svg")):
        if f"explanation/pictures/{old.name}" not in pages:
            old.unlink()
            print(f"removed  {old.relative_to(ROOT)}")
    for name, text in pages.items():
        path = folder / name
        if path.is_file() and path.read_text(encoding="utf-8") == text:
            continue
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        print(f"written  {path.relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
