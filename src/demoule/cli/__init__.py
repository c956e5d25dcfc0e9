"""The same answers from a terminal."""

from demoule.cli.main import run

__all__ = ["run"]
