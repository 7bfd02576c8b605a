"""What people and animals can bear, where they stand and what they meet: the safety block."""

from typing import Annotated, Literal, Self

from pydantic import Discriminator, Field, Tag, model_validator

from ...solver.errors import CaseError
from ...solver.limits import FOOT_RADIUS, NO_OTHER_BODY, PEOPLE, Person
from ..reading import fields as f
from ..reading import quantities as q
from ..reading.blocks import Block
from ..reading.messages import shown
from ..reading.naming import ElectrodeName, names_a, refers_to
from ..reading.size_limits import (
    MOST_EXPOSURES,
    MOST_LIMITS,
    MOST_OUTLINE_POINTS,
    MOST_SURFACES,
)

Outline = Annotated[
    tuple[f.Point, ...],
    Field(min_length=3, max_length=MOST_OUTLINE_POINTS),
    f.simple_outline,
    f.or_drawn,
]
# An outline, or metal that goes round those who stand inside.
Inside = Annotated[
    Annotated[Outline, Tag("outline")]
    | Annotated[f.Name, refers_to("touchable metal"), Tag("metal")],
    Discriminator(lambda value: "metal" if isinstance(value, str) else "outline"),
]
LimitName = Annotated[f.Name, refers_to("limit")]
_HandsOn = Annotated[f.Name, refers_to("electrode", "touchable metal")]


def _body(text: object) -> float:
    mass = _mass.parse(text)
    if mass not in (50.0, 70.0):
        msg = f"{shown(text)} is {mass:.3g} kg; {NO_OTHER_BODY}"
        raise CaseError(msg)
    return float(mass)


_mass = f.quantity(q.MASS, above=0.0)


class Ieee80(Block):
    """Touch, step and metal-to-metal voltage of IEEE Std 80, 0.03 to 3 s."""

    body: Annotated[float, f.Reader(_body, _mass.schema)] = 50.0
    """Mass of the body, 50 kg or 70 kg; 50 kg when left out."""


class En50522(Block):
    """Touch voltage by duration of EN 50522 and IEC 61936-1."""

    footwear: f.Resistance = 0.0
    """Additional resistance of the footwear, both feet together; none when left out."""
    ground: bool = True
    """Whether soil or surface layer under the feet adds its resistance."""
    table: (
        Annotated[tuple[tuple[f.Duration, f.Voltage], ...], Field(min_length=2, max_length=100)]
        | None
    ) = None
    """Touch voltage by duration of the edition in force, in place of what is remembered here:
    [[0.1 s, 300 V], [1 s, 100 V]]."""
    edition: f.Name = ""
    """Where the table was read: standard, year, table."""


class Iec60479(Block):
    """A time-current curve and a body of IEC 60479-1, any duration."""

    curve: Literal["a", "b", "c1", "c2"] = "c1"
    """a perception, b let-go, c1 and c2 ventricular fibrillation."""
    percentile: Literal[5, 50, 95] = 5
    """Whose body impedance, in % of the population; 5 is the lowest."""
    skin: Literal["dry", "water-wet", "saltwater-wet"] = "dry"
    """Skin where it touches; wet skin lets more current pass."""
    path: Literal[
        "left hand to both feet", "right hand to both feet", "both hands to both feet"
    ] = "left hand to both feet"
    """Way of the current through somebody who touches metal."""
    path_credit: bool = False
    """Whether paths that load the heart less may carry more current."""
    footwear: f.Resistance = 0.0
    """Resistance of one shoe; none when left out."""


class Livestock(Block):
    """Voltage across an animal of 500 ohm at which something should be done."""

    level: f.Voltage = 0.5
    """Action level across the animal, 0.5 V to 1 V."""
    contact: f.Resistance = 0.0
    """Resistance in series with the animal; none when left out: a wet stall."""
    pace: f.Length = 1.5
    """Distance between fore and hind hooves, 1.5 m when left out."""


class Own(Block):
    """A limit of your own."""

    exactly_one = (("voltage", "current", "table"),)

    voltage: f.Voltage | None = None
    """Prospective voltage that is permissible, for every duration."""
    current: f.Current | None = None
    """Body current that is permissible, for every duration; goes with body."""
    table: (
        Annotated[tuple[tuple[f.Duration, f.Voltage], ...], Field(min_length=2, max_length=100)]
        | None
    ) = None
    """Permissible prospective voltage by duration: [[0.1 s, 300 V], [1 s, 100 V]]."""
    body: f.Resistance | None = None
    """Resistance of the body; with a voltage or table 1000 ohm when left out."""
    feet: bool | None = None
    """With current: whether the ground under the feet counts in series; else it does not."""

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if self.current is not None and self.body is None:
            msg = "a body current needs a 'body', the resistance it flows through"
            raise CaseError(msg)
        if self.feet is not None and self.current is None:
            msg = "'feet' goes with 'current'; a voltage is prospective and needs no feet"
            raise CaseError(msg)
        return self


class Limit(Block):
    """A named rule that says which voltage is permissible."""

    exactly_one = (("ieee_80", "en_50522", "iec_60479", "livestock", "own"),)

    name: Annotated[f.Name, names_a("limit")]
    """Your own name: public, staff, cows."""
    ieee_80: Ieee80 | None = None
    """IEEE Std 80."""
    en_50522: En50522 | None = None
    """EN 50522 and IEC 61936-1."""
    iec_60479: Iec60479 | None = None
    """IEC 60479-1; the one for continuous contact."""
    livestock: Livestock | None = None
    """Action level for livestock."""
    own: Own | None = None
    """Volts, milliamperes or a table of your own."""


class SurfaceLayer(Block):
    """Thin layer on the ground that counts in limits only, where it lies."""

    name: Annotated[f.Name, names_a("surface layer")]
    """Your own name: crushed rock, asphalt."""
    polygon: Outline
    """Outline of the area it covers."""
    resistivity: f.Resistivity
    """Its resistivity when wet."""
    thickness: f.Length
    """Its thickness."""


class Exposure(Block):
    """Voltage that somebody can meet, and the limit it is held against."""

    exactly_one = (("touch", "step", "hands", "transferred"),)

    name: Annotated[f.Name, names_a("exposure")]
    """Your own name of the place or the doing."""
    touch: Annotated[f.Name, refers_to("touchable metal")] | None = None
    """Metal of study.touch, touched from within reach."""
    step: Literal["anywhere"] | None = None
    """From foot to foot, anywhere in the mapped area or inside an outline."""
    hands: tuple[_HandsOn, _HandsOn] | None = None
    """Two electrodes, or metals of study.touch, bridged from hand to hand."""
    transferred: ElectrodeName | None = None
    """Electrode whose voltage metal carries to other places, given by at or remote_earth."""
    inside: Inside | None = None
    """Outline in which somebody stands, for touch and step, or metal of study.touch that goes
    round, such as a fence: inside it by 0.01 m; left out, anywhere."""
    at: f.Points | None = None
    """Places where the carried voltage is met."""
    remote_earth: Literal[True] | None = None
    """Carried so far away that the soil there is at zero; it adds nothing under the feet."""
    limit: LimitName
    """Name of the limit."""
    people: Annotated[tuple[Person, ...], Field(max_length=len(PEOPLE))] = ()
    """Who is there beside adults with dry skin: children, wet, barefoot, swimmers. The limit is
    lowered to one that fits them, or nothing is judged and the reason given."""

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.inside is not None and self.touch is None and self.step is None:
            msg = "'inside' goes with touch and step; with transferred give the places 'at'"
            raise CaseError(msg)
        given = (self.at is not None) + (self.remote_earth is not None)
        if self.transferred is None and given:
            msg = "'at' and 'remote_earth' go with transferred; give 'inside' an outline"
            raise CaseError(msg)
        if self.transferred is not None and given != 1:
            msg = (
                "transferred needs the places 'at' which the voltage is met, or "
                "'remote_earth: true' where it is carried far away; give one of the two"
            )
            raise CaseError(msg)
        return self


class SolvedFeet(Block):
    """A person at the worst places, feet as discs on the solved ground: the current that flows.

    It stands beside the verdict, which goes by the formulas of its limits all the same.
    """

    places: Annotated[int, Field(ge=1, le=10)] = 1
    """At how many of the worst places of each exposure, at most."""
    apart: Annotated[float, f.quantity(q.LENGTH, least=2 * FOOT_RADIUS, most=2.0)] = 0.3
    """Between the middles of the feet of somebody who touches metal; 0.3 m when left out."""


class Safety(Block):
    """Limits, surface layers and what is to be judged."""

    at_most_one = (("duration", "continuous"),)

    duration: f.Duration | None = None
    """How long the fault lasts; left out, it follows from the protection."""
    continuous: Literal[True] | None = None
    """Nothing clears the fault."""
    limits: Annotated[tuple[Limit, ...], Field(min_length=1, max_length=MOST_LIMITS)]
    """Named limits."""
    long_duration_limit: LimitName | None = None
    """Name of the limit used where another does not hold for so long a fault; left out,
    let-go by IEC 60479-1."""
    under_feet: f.Resistivity | None = None
    """Resistivity of the native ground that people stand on, when wet; left out, that of the
    best conducting top among the case and its variants: water lies on frozen ground."""
    surface: Annotated[tuple[SurfaceLayer, ...], Field(max_length=MOST_SURFACES)] = ()
    """Thin layers on the ground; they add to limits and leave the field as it is."""
    exposures: Annotated[tuple[Exposure, ...], Field(min_length=1, max_length=MOST_EXPOSURES)]
    """What is to be judged."""
    solved_feet: SolvedFeet | None = None
    """Asks for what a person there gets with the ground as it is: foot resistance, loaded
    voltage, body current."""
    step_outline: f.Voltage | None = None
    """Draws the outline outside which every step is below this voltage."""
