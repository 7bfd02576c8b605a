"""The verdict: every declared exposure held against its limit, and where it is worst."""

from .exposures import Exposure, Safety, Timing
from .findings import JudgedPlace, Judgement, Outcome, StepOutline, Verdict
from .ground import Ground, SurfaceLayer
from .judging import Scene, judge, rule_for

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
