"""One small question, one answer, without a dessert file."""

from demoule.answers.declaring import QUESTIONS as _DECLARING
from demoule.answers.liquids import QUESTIONS as _LIQUIDS
from demoule.answers.mixture import Mixture, read_mixture
from demoule.answers.models import ModelReport, model_reports
from demoule.answers.question import Answer, Parameter, Question
from demoule.answers.times import QUESTIONS as _TIMES
from demoule.answers.trade import QUESTIONS as _TRADE

__all__ = [
    "QUESTIONS",
    "Answer",
    "Mixture",
    "ModelReport",
    "Parameter",
    "Question",
    "model_reports",
    "read_mixture",
]

QUESTIONS: dict[str, Question] = {question.name: question for question in (*_LIQUIDS, *_TIMES, *_TRADE, *_DECLARING)}
"""Every question by name."""
