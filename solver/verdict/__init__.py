"""The verdict: every declared exposure held against its limit, and where it is worst."""

from .exposures import Exposure, FeetAsked, Safety, Timing
from .findings import JudgedPlace, Judgement, Outcome, StepOutline, Verdict
from .ground import Ground, SurfaceLayer, UnderFeet, native_feet
from .headline import Headline, headline
from .judging import LOOKED_AT, judge
from .people_there import people_there
from .person import PersonThere
from .rules import rule_for
from .scene import Scene

__all__ = [
    "LOOKED_AT",
    "Exposure",
    "FeetAsked",
    "Ground",
    "Headline",
    "JudgedPlace",
    "Judgement",
    "Outcome",
    "PersonThere",
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
    "people_there",
    "rule_for",
]
