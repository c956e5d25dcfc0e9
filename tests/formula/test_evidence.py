import pytest

from demoule.figures import MODELS
from demoule.formula.evidence import evidence


@pytest.mark.parametrize("entry", evidence(), ids=lambda entry: entry.model)
def test_every_point_lies_within_its_tolerance(entry):
    assert entry.model in MODELS
    assert entry.at
    assert len(entry.at) == len(entry.published) == len(entry.computed)
    assert entry.worst <= entry.tolerance
