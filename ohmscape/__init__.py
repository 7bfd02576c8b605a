"""What happens when fault current enters the earth, known before anyone is exposed.

The public names are loaded on first use, so that ``import ohmscape`` and the
command line's ``--help`` do not pay for mesh generator, solver and pictures.
"""

from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .cases.case import Case as Case
    from .cases.family.reading import read_family as read_family
    from .cases.fitting import fit_soil as fit_soil
    from .cases.loading import case_from as case_from
    from .cases.loading import load_case as load_case
    from .cases.loading import load_case_text as load_case_text
    from .cases.shipped import shipped_case_path as shipped_case_path
    from .cases.shipped import shipped_cases as shipped_cases
    from .jobs.case_origin import case_origin as case_origin
    from .jobs.curves import curve_of as curve_of
    from .jobs.earth_tests import predict_tests as predict_tests
    from .jobs.family import batch_of as batch_of
    from .jobs.field_readings import compare_case as compare_case
    from .jobs.planned_survey import simulate_survey as simulate_survey
    from .jobs.run import reassess as reassess
    from .jobs.run import run_case as run_case
    from .jobs.run import run_variants as run_variants
    from .jobs.sheets import plan_sheets as plan_sheets
    from .jobs.sizing import size_case as size_case
    from .jobs.soil_survey import save_soil as save_soil
    from .jobs.soil_survey import survey_soil as survey_soil
    from .jobs.uncertainty import uncertainty_of_case as uncertainty_of_case
    from .jobs.understood import understood as understood
    from .solver.errors import CaseError as CaseError
    from .solver.errors import OhmscapeError as OhmscapeError
    from .solver.errors import TrustError as TrustError
    from .solver.results.result import Result as Result
    from .solver.results.variants import comparison as comparison
    from .solver.soil_survey import Sounding as Sounding
    from .viz import draw as draw
    from .viz.earth_tests.files import save_predictions as save_predictions
    from .viz.exports.models import export_result as export_result
    from .viz.exports.models import map_arrays as map_arrays
    from .viz.exports.models import map_dataset as map_dataset
    from .viz.exports.models import result_meshes as result_meshes
    from .viz.family.files import save_batch as save_batch
    from .viz.field_readings.files import save_compared as save_compared
    from .viz.report import write_report as write_report
    from .viz.result_folder import load_result as load_result
    from .viz.result_folder import load_results as load_results
    from .viz.result_folder import save_result as save_result
    from .viz.sheets.files import save_sheets as save_sheets
    from .viz.terminal.summary import comparison_table as comparison_table
    from .viz.terminal.summary import summary as summary

__version__ = "0.1.0"

_root = Path(__file__).resolve().parent.parent
if (_root / "pyproject.toml").is_file() and (_root / "solver" / "model.py").is_file():
    # Run from a checkout: this folder shadows the installed package, and the other
    # parts stand beside it, not in it (pyproject.toml maps them when it installs).
    __path__.append(str(_root))

# Public name -> module that holds it.
_home = {
    "Case": "ohmscape.cases.case",
    "CaseError": "ohmscape.solver.errors",
    "OhmscapeError": "ohmscape.solver.errors",
    "Result": "ohmscape.solver.results.result",
    "Sounding": "ohmscape.solver.soil_survey",
    "TrustError": "ohmscape.solver.errors",
    "batch_of": "ohmscape.jobs.family",
    "case_from": "ohmscape.cases.loading",
    "case_origin": "ohmscape.jobs.case_origin",
    "compare_case": "ohmscape.jobs.field_readings",
    "comparison": "ohmscape.solver.results.variants",
    "comparison_table": "ohmscape.viz.terminal.summary",
    "curve_of": "ohmscape.jobs.curves",
    "draw": "ohmscape.viz",
    "export_result": "ohmscape.viz.exports.models",
    "fit_soil": "ohmscape.cases.fitting",
    "load_case": "ohmscape.cases.loading",
    "load_case_text": "ohmscape.cases.loading",
    "load_result": "ohmscape.viz.result_folder",
    "load_results": "ohmscape.viz.result_folder",
    "map_arrays": "ohmscape.viz.exports.models",
    "map_dataset": "ohmscape.viz.exports.models",
    "plan_sheets": "ohmscape.jobs.sheets",
    "predict_tests": "ohmscape.jobs.earth_tests",
    "read_family": "ohmscape.cases.family.reading",
    "reassess": "ohmscape.jobs.run",
    "result_meshes": "ohmscape.viz.exports.models",
    "run_case": "ohmscape.jobs.run",
    "run_variants": "ohmscape.jobs.run",
    "save_batch": "ohmscape.viz.family.files",
    "save_compared": "ohmscape.viz.field_readings.files",
    "save_predictions": "ohmscape.viz.earth_tests.files",
    "save_result": "ohmscape.viz.result_folder",
    "save_sheets": "ohmscape.viz.sheets.files",
    "save_soil": "ohmscape.jobs.soil_survey",
    "shipped_case_path": "ohmscape.cases.shipped",
    "shipped_cases": "ohmscape.cases.shipped",
    "simulate_survey": "ohmscape.jobs.planned_survey",
    "size_case": "ohmscape.jobs.sizing",
    "summary": "ohmscape.viz.terminal.summary",
    "survey_soil": "ohmscape.jobs.soil_survey",
    "uncertainty_of_case": "ohmscape.jobs.uncertainty",
    "understood": "ohmscape.jobs.understood",
    "write_report": "ohmscape.viz.report",
}

__all__ = ["__version__", *sorted(_home)]


def __getattr__(name: str) -> Any:
    """Load a public name from its module on first use."""
    if name not in _home:
        msg = f"module 'ohmscape' has no attribute {name!r}; it has {', '.join(__all__)}"
        raise AttributeError(msg)
    return getattr(import_module(_home[name]), name)
