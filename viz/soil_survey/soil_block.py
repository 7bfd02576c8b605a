"""The soil block of a case, written from a sounding."""

from textwrap import wrap

from ... import __version__
from ...solver.model import Soil
from ...solver.soil_survey import Sounding
from ...solver.wording import layers_text, number_text
from ..cautions import ABOUT_SOUNDINGS
from ..wording import significant
from .from_sounding import misfit_text
from .parameters import parameters
from .text import choice_text

# Enough that pasted layers give the same curve to 1e-5.
_figures = 5
_width = 90


def soil_block(sounding: Sounding) -> str:
    """YAML text to paste into a case: the chosen layers, and what is known of them."""
    survey, chosen = sounding.survey, sounding.chosen
    source = " ".join(sounding.file.split()) or "the survey of a case"
    sha = f" (SHA-256 {sounding.sha256[:16]}…)" if sounding.sha256 else ""
    lines = [
        *_comment(
            f"{layers_text(chosen.layers).capitalize()} ({choice_text(sounding)}), fitted by "
            f"ohmscape {__version__} to {number_text(len(survey), 'reading')} of "
            f"{source}{sha}; misfit {misfit_text(chosen)}. Paste this in place of the "
            "soil block of a case."
        ),
        "#",
        *(line for text in (*sounding.warnings, *ABOUT_SOUNDINGS) for line in _item(text)),
        "",
        "soil:",
        "  layers:",
        *_layers(sounding),
    ]
    if sounding.equivalents:
        lines += ["", *_comment("Models that fit as well. To solve them too, uncomment:")]
        lines.append("# variants:")
        for number, soil in enumerate(sounding.equivalents, start=1):
            lines.append(f"#   - name: equivalent soil {number}")
            lines.append(f"#     soil: {{layers: [{', '.join(_inline(soil))}]}}")
    return "\n".join(lines) + "\n"


def _layers(sounding: Sounding) -> list[str]:
    """Layers, each value with the range of what fits as well."""
    lines = []
    for item in parameters(sounding.chosen):
        low, high = (significant(float(end)) for end in item.alike)
        known = "" if item.resolved else "; not resolved"
        value = significant(item.value, figures=_figures)
        dash, unit = ("-", "ohm*m") if item.quantity == "resistivity" else (" ", "m")
        lines.append(
            f"    {dash} {item.quantity}: {value} {unit}  # {low} to {high} fit as well{known}"
        )
    return lines


def _inline(soil: Soil) -> list[str]:
    """Layers as flow mappings."""
    found = []
    for k, rho in enumerate(soil.resistivity):
        words = f"resistivity: {significant(rho, figures=_figures)} ohm*m"
        if k < len(soil.thickness):
            words += f", thickness: {significant(soil.thickness[k], figures=_figures)} m"
        found.append(f"{{{words}}}")
    return found


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in wrap(text, _width, break_on_hyphens=False)]


def _item(text: str) -> list[str]:
    first, *rest = wrap(text, _width - 2, break_on_hyphens=False)
    return [f"# - {first}", *(f"#   {line}" for line in rest)]
