"""Tables of a sounding: its readings with what was fitted to them, and its models."""

from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np

from ...solver.soil_survey import Sounding
from ..tables.csv_files import write_table
from .parameters import parameters

_arrays = ("four pins at equal distances", "four pins", "driven rod")


def write_sounding_tables(sounding: Sounding, folder: Path, *, title: str) -> list[Path]:
    """Write ``soil-readings.csv`` and ``soil-models.csv`` into a folder that exists."""
    source = f"survey {sounding.file}, SHA-256 {sounding.sha256}" if sounding.file else "survey"
    notes = [" ".join(title.split()), " ".join(source.split()), *sounding.warnings]
    return [
        write_table(
            folder / "soil-readings.csv",
            notes=[
                *notes,
                f"Fitted: by the chosen model of {sounding.layers} layers.",
                "Pins: along the traverse, current, potential, potential, current.",
            ],
            header=_reading_header,
            rows=_reading_rows(sounding),
        ),
        write_table(
            folder / "soil-models.csv",
            notes=[
                *notes,
                "Misfit: root mean square of model less reading over reading. Ranges: 95 %, by "
                "linear error analysis, and among all models that fit as well.",
                f"The readings support {sounding.supported} layers; {sounding.layers} chosen.",
            ],
            header=_model_header,
            rows=_model_rows(sounding),
        ),
    ]


_reading_header = (
    "traverse", "array", "pin 1 [m]", "pin 2 [m]", "pin 3 [m]", "pin 4 [m]", "pin depth [m]",
    "driven length [m]", "diameter [mm]", "spacing [m]", "resistance [ohm]",
    "apparent resistivity [ohm*m]", "deviation [%]", "fitted [ohm*m]",
    "reading above fitted [%]", "outlier",
)  # fmt: skip
_model_header = (
    "layers", "chosen", "supported", "layer", "quantity", "best", "unit",
    "standard deviation of ln", "low 95% linear", "high 95% linear", "low that fits as well",
    "high that fits as well", "resolved", "misfit [%]", "misfit without outliers [%]",
    "criterion", "chance [%]",
)  # fmt: skip


def _reading_rows(sounding: Sounding) -> Iterable[Sequence[object]]:
    survey, chosen = sounding.survey, sounding.chosen
    for k in range(len(survey)):
        array = int(survey.array[k])
        if array == 2:
            assert survey.driven_rod is not None
            n = k - (len(survey) - len(survey.driven_rod))
            rod = survey.driven_rod
            where = [np.nan] * 5 + [rod.driven_length[n], 2e3 * rod.radius[n]]
        else:
            assert survey.four_pin is not None
            where = [*survey.four_pin.pins[k], survey.four_pin.pin_depth[k], np.nan, np.nan]
        yield (
            survey.names[survey.traverse[k]],
            _arrays[array],
            *where,
            survey.spacing[k],
            survey.resistance[k],
            survey.apparent_resistivity[k],
            100 * survey.deviation[k],
            chosen.apparent_resistivity[k],
            100 * np.expm1(-chosen.residual[k]),
            "yes" if chosen.outlier[k] else "no",
        )


def _model_rows(sounding: Sounding) -> Iterable[Sequence[object]]:
    for model in sounding.models:
        first = (
            model.layers,
            _yes(model.layers == sounding.layers),
            _yes(model.layers == sounding.supported),
        )
        last = (
            100 * model.misfit,
            100 * model.misfit_of_others,
            model.criterion,
            100 * model.chance,
        )
        for item in parameters(model):
            yield (
                *first, item.layer, item.quantity, item.value,
                "ohm*m" if item.quantity == "resistivity" else "m", item.deviation,
                *item.linear, *item.alike, _yes(item.resolved), *last,
            )  # fmt: skip


def _yes(flag: bool) -> str:
    return "yes" if flag else "no"
