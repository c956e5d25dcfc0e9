from pathlib import Path

import pytest

from demoule.errors import Mistakes
from demoule.files import demo, desserts_of
from demoule.larder import standard_larder

DATA = Path(__file__).parent / "data"


@pytest.fixture(scope="session")
def larder():
    return standard_larder()


@pytest.fixture(scope="session")
def sketch():
    """The form of a dessert file as it was first drawn up: it must always be accepted."""
    return (DATA / "sketch.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="session")
def demonstration():
    return demo()


@pytest.fixture
def read(larder):
    """Read one dessert from a text."""
    return lambda text, kitchen=None: desserts_of(text, "d.yaml", larder, kitchen)[0]


@pytest.fixture
def said(larder):
    """What is said of a text that is wrong: (line, column, says, remedy), in order."""

    def mistakes(text, kitchen=None):
        with pytest.raises(Mistakes) as caught:
            desserts_of(text, "d.yaml", larder, kitchen)
        return [(m.line, m.column, m.says, m.remedy) for m in caught.value.mistakes]

    return mistakes
