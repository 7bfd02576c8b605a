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
        # With the chapters of the report, where there is one, and its section sampled.
        "summary": {
            "run": 1,
            "results": results,
            "drawn": drawn,
            "chapters": drawn * results,
            "near": drawn * works[0].fine.below,
            "priced": float(works[0].case.option is not None),
        },
        "files": {"run": 1, "results": results, "elements": _elements(works)},
    }


def drawing(works: Sequence[CaseWork]) -> Amounts:
    """Amounts of what is drawn of the results of a case and of its variants."""
    first, others, new = works[0], works[1:], [work for work in works if not work.alike]
    # Of what looks like that of an earlier result limits alone are drawn.
    plans = [work.margins if work.alike else work.plans for work in works]
    steps = [work.step_margins + (not work.alike) for work in works]
    drawn = float(sum(plans))
    live = float(sum(work.plans for work in works))
    points = float(sum(work.plans * work.points for work in works))
    results = float(len(works))
    surveyed = float(first.case.survey is not None)
    decided = float(first.case.study.soil_shares)
    on_maps = float(sum(work.plans * work.pieces for work in works))
    return {
        # Its libraries, and the first result.
        "second process": {"run": 1, "elements": first.fine.elements},
        "further results": {"results": len(others), "elements": _elements(others)},
        # Contours of the first are kept from its maps on paper.
        "map pictures": {
            "run": 1,
            "pictures": drawn,
            "others": drawn - first.plans,
            "points": sum(k * work.points for k, work in zip(plans, works, strict=True)),
            "pieces": sum(k * work.pieces for k, work in zip(plans, works, strict=True)),
            **_between(works[1:], steps[1:]),
            "points of grounds": _on_grounds(works[1:]),
        },
        "3-D view": {
            "pictures": len(new),
            "elements": _elements(new),
            "pieces": sum(work.pieces for work in new),
        },
        "curves": {
            # A curve as any other, where metal has a voltage along it.
            "profiles": sum(work.profiles + (work.case.wiring is not None) for work in works),
            "sections": len(new),
            "near": sum(work.fine.below for work in new),
            "soundings": surveyed,
            "deciding": decided,
        },
        "comparison": {
            "run": float(bool(others)),
            "results": len(others),
            "priced": float(first.case.option is not None),
        },
        # Of the first alone; the others are on pictures of the page that answer.
        "report pictures": {
            "run": 1,
            "profiles": first.profiles,
            "compared": float(bool(others)),
            "soundings": surveyed,
            "deciding": decided,
            "near": first.fine.below,
            "priced": float(first.case.option is not None),
        },
        "maps on paper": {
            "run": 1,
            "plans": first.plans,
            "points": first.plans * first.points,
            **_between(works[:1], steps[:1]),
            "points of grounds": _on_grounds(works[:1]),
            "pieces": first.plans * first.pieces,
        },
        "live maps": {"run": 1, "pictures": live, "points": points, "pieces": on_maps},
        "paper": {"run": 1, "results": results, "plans": first.plans},
        "page": {"run": 1, "results": results, "points": points},
    }


def _between(works: Sequence[CaseWork], maps: Sequence[int]) -> dict[str, float]:
    """Amounts of looking for steps between the points of so many maps of each result."""
    pairs = list(zip(maps, works, strict=True))
    return {
        "points of steps": float(sum(k * work.points for k, work in pairs)),
        "points of steps times near": sum(k * work.points_times_near for k, work in pairs),
        "heads": float(sum(k * work.heads for k, work in pairs)),
    }


def _on_grounds(works: Sequence[CaseWork]) -> float:
    """Points of maps of limits of steps where these change from ground to ground."""
    return float(sum(work.step_margins * work.points_by_grounds for work in works))


def _elements(works: Sequence[CaseWork]) -> float:
    return float(sum(work.fine.elements for work in works))
