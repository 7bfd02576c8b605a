"""What single steps from a design cost and buy, and where more no longer helps."""

from dataclasses import replace

from ..solver.design import Sizing, Step, Tried, neighbours
from .design_search import DesignSearch

_least_help, _most_onward = 0.01, 12  # of what is taken; dearer steps looked for


def with_steps(search: DesignSearch, sizing: Sizing) -> Sizing:
    """The outcome with what each single step buys, and where more no longer helps."""
    steps = _steps(search, sizing.shown)
    onward: list[Step] = []
    here = sizing.shown
    while len(onward) < _most_onward:
        step = _best_buy(search, here)
        if step is None:
            break
        onward.append(step)
        here = step.tried
    # Steps may lead to designs that were given up before.
    tried = tuple(search.tried(item.chosen) for item in sizing.tried)
    return replace(sizing, tried=tried, steps=steps, onward=tuple(onward), bills=search.bills())


def _steps(search: DesignSearch, start: Tried) -> tuple[Step, ...]:
    """Each single step from a design to one that thin conductors can tell of."""
    possible = set(search.designs)
    beside = neighbours(start.chosen, counts=search.counts)
    there = [one for one in beside if one in possible]
    search.ask(there, total=search.space.most_tried)
    found = []
    for one in there:
        tried = search.tried(one)
        if start.thin is None or tried.thin is None:
            continue
        number = next(k for k, option in enumerate(one) if option != start.chosen[k])
        choice = search.space.choices[number]
        before, after = (choice.options[each[number]] for each in (start.chosen, one))
        found.append(Step(choice.name, before, after, start, tried))
    return tuple(found)


def _best_buy(search: DesignSearch, start: Tried) -> Step | None:
    """The dearer step that lowers what is taken most for its cost; None if none helps."""

    def gain(step: Step) -> float:
        assert step.start.thin is not None
        assert step.tried.thin is not None
        before, after = (
            item.worst(search.targets) for item in (step.start.thin, step.tried.thin)
        )
        return 1.0 - after / before

    able = [
        step for step in _steps(search, start) if step.cost > 0 and gain(step) > _least_help
    ]
    return max(able, key=lambda step: (gain(step) / step.cost, step.tried.chosen), default=None)
