"""All sections of a report, in the order in which a reviewer reads them."""

from collections.abc import Sequence
from datetime import datetime

from ...solver.results.result import Result
from .contents import Section
from .sections.along_metal import along_section
from .sections.closing import (
    assumptions_section,
    cautions_section,
    provenance_section,
    references_section,
)
from .sections.distances import distances_section
from .sections.drawing import drawing_section
from .sections.fault import circuit_section, protection_section
from .sections.feet import feet_section
from .sections.heating import heating_section
from .sections.limits import limits_section
from .sections.options import options_section
from .sections.result import (
    maps_section,
    profiles_section,
    resistance_section,
    scene_section,
    worst_section,
)
from .sections.site import site_section, soil_section
from .sections.soil_shares import soil_shares_section
from .sections.trust import accuracy_section, second_opinion_section
from .sections.verdict import verdict_section


def sections(
    results: Sequence[Result], *, made: datetime, field: Sequence[Section] = ()
) -> tuple[Section, ...]:
    """Sections of the report on a case and its variants.

    Parameters
    ----------
    results : sequence of Result, at least one
        Of the case as it stands, then of its variants.
    field : sequence of Section
        On readings and tests in the field; they come before what shows how far to trust it all.
    """
    sounding = results[0].sounding
    read = sounding is not None and bool(sounding.file)
    found = (
        verdict_section(results),
        options_section(results),
        site_section(results),
        drawing_section(results),
        soil_section(results),
        circuit_section(results),
        protection_section(results),
        limits_section(results),
        feet_section(results),
        heating_section(results),
        resistance_section(results),
        along_section(results),
        soil_shares_section(results),
        maps_section(results),
        scene_section(results),
        profiles_section(results),
        worst_section(results),
        distances_section(results),
        *field,
        accuracy_section(results, field=bool(field)),
        second_opinion_section(results),
        assumptions_section(results),
        cautions_section(results),
        references_section(results),
        provenance_section(
            results[0],
            made=made,
            tables=[(sounding.file, sounding.sha256)] if read and sounding else [],
        ),
    )
    return tuple(section for section in found if section is not None)
