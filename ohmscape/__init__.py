"""What happens when fault current enters the earth, known before anyone is exposed.

The public names are loaded on first use, so that ``import ohmscape`` and the
command line's ``--help`` do not pay for mesh generator, solver and pictures.
"""

from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .cases.case import Case as Case
    from .cases.loading import load_case as load_case
    from .cases.loading import load_case_text as load_case_text
    from .cases.shipped import shipped_case_path as shipped_case_path
    from .jobs.run import run_case as run_case
    from .solver.errors import CaseError as CaseError
    from .solver.errors import OhmscapeError as OhmscapeError
    from .solver.errors import TrustError as TrustError
    from .solver.results.result import Result as Result
    from .viz import draw as draw
    from .viz.result_folder import load_result as load_result
    from .viz.result_folder import save_result as save_result
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
    "TrustError": "ohmscape.solver.errors",
    "draw": "ohmscape.viz",
    "load_case": "ohmscape.cases.loading",
    "load_case_text": "ohmscape.cases.loading",
    "load_result": "ohmscape.viz.result_folder",
    "run_case": "ohmscape.jobs.run",
    "save_result": "ohmscape.viz.result_folder",
    "shipped_case_path": "ohmscape.cases.shipped",
    "summary": "ohmscape.viz.terminal.summary",
}

__all__ = ["__version__", *sorted(_home)]


def __getattr__(name: str) -> Any:
    """Load a public name from its module on first use."""
    if name not in _home:
        msg = f"module 'ohmscape' has no attribute {name!r}; it has {', '.join(__all__)}"
        raise AttributeError(msg)
    return getattr(import_module(_home[name]), name)
