"""Pages of the documentation that are made from the product itself, so that they cannot fall behind it."""

from __future__ import annotations

from docpages import commands, evidence, findings, hours, larder, questions

__all__ = ["all_pages"]


def all_pages() -> dict[str, str]:
    """Every generated file by its path below `docs/`."""
    compared = evidence.compared_models()
    return {
        "reference/commands.md": commands.page(),
        "reference/questions.md": questions.page(),
        "reference/findings.md": findings.page(),
        "reference/larder.md": larder.page(),
        "explanation/how-good-are-the-figures.md": evidence.page(compared),
        "explanation/how-sure-are-the-hours.md": hours.page(compared),
        **evidence.pictures(compared),
    }
