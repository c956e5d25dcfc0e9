"""Lets `python -m demoule` do what the `demoule` command does."""

from demoule.cli.main import run

if __name__ == "__main__":
    run()
