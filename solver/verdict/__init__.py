"""The verdict: every declared exposure held against its limit, and where it is worst."""

from .exposures import Exposure, Safety, Timing
from .findings import JudgedPlace, Judgement, Outcome, StepOutline, Verdict
from .ground import Ground, SurfaceLayer
from .judging import judge
from .rules import rule_for
from .scene import Scene

__all__ = [
    "Exposure",
    "Ground",
    "JudgedPlace",
    "Judgement",
    "Outcome",
    "Safety",
    "Scene",
    "StepOutline",
    "SurfaceLayer",
    "Timing",
    "Verdict",
    "judge",
    "rule_for",
]
