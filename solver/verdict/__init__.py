"""The verdict: every declared exposure held against its limit, and where it is worst."""

from .exposures import Exposure, Safety, Timing
from .findings import JudgedPlace, Judgement, Outcome, StepOutline, Verdict
from .ground import Ground, SurfaceLayer, UnderFeet, native_feet
from .headline import Headline, headline
from .judging import judge
from .rules import rule_for
from .scene import Scene

__all__ = [
    "Exposure",
    "Ground",
    "Headline",
    "JudgedPlace",
    "Judgement",
    "Outcome",
    "Safety",
    "Scene",
    "StepOutline",
    "SurfaceLayer",
    "Timing",
    "UnderFeet",
    "Verdict",
    "headline",
    "judge",
    "native_feet",
    "rule_for",
]
