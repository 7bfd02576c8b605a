"""What a run will have to draw, and to tell, counted before: pictures of the folder, report.

The parts are those that two processes share, see `viz/studio/`, named as a reader would.
"""

from collections.abc import Sequence

from .expected_work import Amounts, CaseWork

serial = ("paper", "page", "files")
"""Parts that come one after the other when all else is drawn."""


def telling(works: Sequence[CaseWork], *, drawn: bool) -> Amounts:
    """Amounts of what is told and written of all results together, drawn or not."""
    results = float(len(works))
    return {
        # With the chapters of the report, where there is one.
        "summary": {"run": 1, "results": results, "drawn": drawn, "chapters": drawn * results},
        "files": {"run": 1, "results": results, "elements": _elements(works)},
    }


def drawing(works: Sequence[CaseWork]) -> Amounts:
    """Amounts of what is drawn of the results of a case and of its variants."""
    first, others = works[0], works[1:]
    plans = float(sum(work.plans for work in works))
    points = float(sum(work.plans * work.points for work in works))
    curves = float(sum(work.curves for work in works))
    results, pieces = float(len(works)), float(sum(work.pieces for work in works))
    on_maps = float(sum(work.plans * work.pieces for work in works))
    return {
        # Its libraries, and the first result.
        "second process": {"run": 1, "elements": first.fine.elements},
        "further results": {"results": len(others), "elements": _elements(others)},
        # Contours of the first are kept from its maps on paper.
        "map pictures": {
            "run": 1,
            "pictures": plans,
            "others": plans - first.plans,
            "points": points,
            "pieces": on_maps,
        },
        "3-D view": {"pictures": results, "elements": _elements(works), "pieces": pieces},
        "curves": {"run": 1, "results": results, "pictures": curves},
        "comparison": {"run": float(bool(others)), "results": len(others)},
        "report pictures": {"run": 1, "results": results, "pictures": curves},
        "maps on paper": {
            "run": 1,
            "plans": first.plans,
            "points": first.plans * first.points,
            "pieces": first.plans * first.pieces,
        },
        "live maps": {"run": 1, "pictures": plans, "points": points, "pieces": on_maps},
        "paper": {"run": 1, "results": results, "plans": first.plans},
        "page": {"run": 1, "results": results, "points": points},
    }


def _elements(works: Sequence[CaseWork]) -> float:
    return float(sum(work.fine.elements for work in works))
