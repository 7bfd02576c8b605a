"""What may differ in a case under other conditions: blocks that change, names that switch."""

from typing import Annotated, Any, Self

from pydantic import Field, model_validator

from ..solver.errors import CaseError
from .reading import fields as f
from .reading.blocks import Block
from .reading.naming import names_a, refers_to
from .reading.size_limits import MOST_DEVICES, MOST_ELECTRODES, MOST_PARTS, MOST_VARIANTS
from .soil_survey.schema import Survey
from .soil_survey.schema_soil import Layer

_Switches = Annotated[tuple[f.Name, ...], Field(max_length=MOST_ELECTRODES**2)]
_Devices = Annotated[tuple[f.Name, ...], Field(max_length=MOST_DEVICES)]

CHANGEABLE = (
    "soil",
    "electrodes",
    "bonds",
    "circuit",
    "along_metal",
    "protection",
    "study",
    "safety",
    "heating",
    "distances",
    "earth_tests",
    "numerics",
)
"""Blocks of a case of which a variant may give what differs."""

A_BLOCK = "block that may be changed"  # what they are called in messages

GIVEN_WHOLE = (Survey, Layer)
"""Blocks of which a variant gives all: parts of another survey would make a third one."""

NOT_TAKEN = ("design", "measured", "survey_plan", "uncertainty")
"""Blocks that a case made from another does not take over: readings are of what stands there,
and what was to be chosen or drawn has been."""

SWITCHES = ("close", "open", "fit", "remove")
"""Keys of a variant that name what is switched."""

# What a variant says of a block, or switches, is checked where it is laid over the case.
_Changes = Annotated[tuple[Any, ...], Field(max_length=MOST_PARTS)]
_Change = dict[str, Any]


# What is laid under all variants, and how one differs all the same.
_SAME_PLAN = ("drawing", "site", "ground_picture")
_OTHER_LAYERS = (
    "is that of the case in all its variants. For other metal draw both plans in one file, on "
    "layers of their own, and give the drawn parts in 'electrodes' other 'layers', or another "
    "'depth'; for another file make another case"
)


class Change(Block):
    """What of a case differs."""

    @classmethod
    def _key_problems(cls, data: dict[Any, Any]) -> list[tuple[tuple[str, ...], str]]:
        found = super()._key_problems(data)
        return [
            (path, _OTHER_LAYERS if path and path[0] in _SAME_PLAN else message)
            for path, message in found
        ]

    soil: _Change | None = None
    """What differs in the soil: other layers or another survey whole, bodies by name."""
    electrodes: _Changes | None = None
    """Metal that differs: found by name, changed, added, or with `absent: true` taken away."""
    bonds: _Changes | None = None
    """Bonds that differ, by name."""
    circuit: _Change | None = None
    """What differs in the fault circuit."""
    along_metal: _Change | None = None
    """What differs in leads, joints and places of the metal."""
    protection: _Changes | None = None
    """Protective devices that differ, by name."""
    study: _Change | None = None
    """What differs in where to look."""
    safety: _Change | None = None
    """What differs in limits, surface layers and exposures."""
    heating: _Change | None = None
    """What differs in leads, joints and how hot they may get."""
    distances: _Change | None = None
    """What differs in levels and separations."""
    earth_tests: _Changes | None = None
    """Earth tests that differ, by name."""
    numerics: _Change | None = None
    """What differs in how finely to compute."""
    close: _Switches = ()
    """Names of bonds that are closed, and of paths, leads and joints connected here."""
    open: _Switches = ()
    """Names of bonds that are open, and of paths, leads and joints not connected here."""
    fit: _Devices = ()
    """Names of protective devices that are there."""
    remove: _Devices = ()
    """Names of protective devices that are not there."""

    @model_validator(mode="after")
    def _switches_once(self) -> Self:
        for ones, others, what in (
            (self.open, self.close, "open and closed"),
            (self.fit, self.remove, "fitted and removed"),
        ):
            if both := sorted(set(ones) & set(others)):
                msg = f"{both[0]!r} cannot be both {what}; name it once"
                raise CaseError(msg)
        return self


class Variant(Change):
    """The case under other conditions: what of it differs."""

    name: Annotated[f.Name, names_a("variant")]
    """Your own name: dry summer, another ring, crushed rock, fence unbonded."""
    also_in: Annotated[
        tuple[Annotated[f.Name, refers_to("variant")], ...], Field(max_length=MOST_VARIANTS)
    ] = ()
    """Other variants in which this one is solved too: another ring in each of the seasons."""
    price: f.Money = 0.0
    """What it costs beside its metal, joints and surface layers, see `prices`."""

    @model_validator(mode="after")
    def _differs(self) -> Self:
        if not any(getattr(self, key) for key in (*CHANGEABLE, *SWITCHES)):
            msg = (
                "differs in nothing; give it what differs of the case, such as a 'soil' or "
                "'electrodes', something to 'open' or to 'close', or a device to 'fit' or to "
                "'remove'"
            )
            raise CaseError(msg)
        return self
