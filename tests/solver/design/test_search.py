"""The search finds what trying all finds, and the front is what its definition says."""

import itertools

import numpy as np
import pytest

from ohmscape.solver.design import (
    Condition,
    Evaluation,
    Met,
    Targets,
    Tried,
    front,
    least_gain,
    neighbours,
    searched,
    undecided,
)


def merits_at_random(counts, seed):
    """A cost that goes up evenly, and what misses where too little was chosen.

    As metal does, each option more helps less than the one before.
    """
    random = np.random.default_rng(seed)
    costs = [random.uniform(0.3, 3) * np.arange(count) + 1.0 for count in counts]
    strength = [
        random.uniform(0.5, 2) * (1 - np.exp(-random.uniform(0.1, 0.6) * np.arange(count)))
        for count in counts
    ]
    wanted = 0.75 * sum(float(each.max()) for each in strength)

    def merit(chosen):
        cost = sum(each[k] for each, k in zip(costs, chosen, strict=True))
        have = sum(each[k] for each, k in zip(strength, chosen, strict=True))
        return float(cost / (1 + cost) if have >= wanted else 1 + wanted - have)

    return merit


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("counts", [(7, 6, 5), (4, 3, 3, 2, 2), (12, 9), (2, 1, 40)])
def test_the_search_finds_the_best_of_small_sets(counts, seed):
    designs = list(itertools.product(*(range(count) for count in counts)))
    merit = merits_at_random(counts, seed)
    most = 2 * len(designs) // 3
    tried = searched(
        designs, counts=counts, merit=lambda batch: list(map(merit, batch)), most=most
    )
    assert len(tried) == len(set(tried)) == most
    assert min(map(merit, tried)) == min(map(merit, designs))


def test_no_more_are_tried_than_asked_for_and_only_possible_ones():
    counts = (9, 9, 9)
    every = itertools.product(*(range(count) for count in counts))
    designs = [one for one in every if sum(one) % 3]
    asked = []

    def merit(batch):
        asked.extend(batch)
        return [float(sum(one)) for one in batch]

    tried = searched(designs, counts=counts, merit=merit, most=100)
    assert tried == asked
    assert len(tried) <= 100
    assert set(tried) <= set(designs)


def test_the_same_designs_are_tried_each_time():
    counts = (9, 7, 8)
    designs = list(itertools.product(*(range(count) for count in counts)))
    merit = merits_at_random(counts, 3)
    once, again = (
        searched(designs, counts=counts, merit=lambda b: list(map(merit, b)), most=120)
        for _ in range(2)
    )
    assert once == again


def test_neighbours_differ_in_one_choice_by_one_option():
    found = neighbours((0, 2, 1), counts=(2, 3, 4))
    assert found == [(1, 2, 1), (0, 1, 1), (0, 2, 0), (0, 2, 2)]


def reaching(share, cost, chosen=(0,), *, error=0.01, proof=False):
    met = Met("x", 100 * share, 100.0, 100 * error, share + error, (0.0, 0.0))
    condition = Condition("", 5.0, 0.01, 100.0, 1.0, (met,))
    thin = Evaluation("thin conductors", (condition,))
    solved = Evaluation("finite elements", (condition,)) if proof else None
    return Tried(chosen, cost, thin, solved)


@pytest.mark.parametrize("seed", range(4))
def test_nothing_cheaper_matches_what_is_on_the_front(seed):
    random = np.random.default_rng(seed)
    tried = [
        reaching(share, cost, (k,))
        for k, (share, cost) in enumerate(random.uniform(0.2, 3.0, (60, 2)))
    ]
    found = front(tried, targets=Targets())
    shares = [item.worst(Targets()) for item in found]
    assert found[0].cost == min(item.cost for item in tried)
    for item in tried:
        cheaper = [one for one in found if one.cost <= item.cost]
        best = min(one.worst(Targets()) for one in cheaper)
        assert item in found or item.worst(Targets()) > (1 - least_gain) * best
    assert all(b <= (1 - least_gain) * a for a, b in itertools.pairwise(shares))


def test_only_finite_elements_make_a_design_pass():
    assert not reaching(0.5, 1.0).passes(Targets())
    assert reaching(0.5, 1.0).may_pass(Targets())
    assert reaching(0.5, 1.0, proof=True).passes(Targets())


def test_the_error_and_the_reserve_keep_a_design_from_passing():
    close = reaching(0.995, 1.0, proof=True)
    assert not close.passes(Targets())
    assert not close.proof.surely_misses(Targets())
    assert reaching(1.005, 1.0).may_pass(Targets())
    assert not reaching(1.02, 1.0).may_pass(Targets())
    assert not reaching(0.95, 1.0, proof=True).passes(Targets(reserve=0.1))
    assert reaching(0.88, 1.0, proof=True).passes(Targets(reserve=0.1))


@pytest.mark.parametrize(
    ("targets", "passes"),
    [
        (Targets(resistance=5.1), True),
        (Targets(resistance=5.02), False),  # 5 Ω, known to a hundredth
        (Targets(rise=102.0), True),
        (Targets(rise=100.5), False),
    ],
)
def test_resistance_and_rise_keep_their_errors_too(targets, passes):
    assert reaching(0.1, 1.0, proof=True).passes(targets) is passes


def test_what_cannot_be_judged_does_not_pass():
    condition = Condition("", 5.0, 0.01, 100.0, 1.0, (), ("at the gate",))
    found = Evaluation("finite elements", (condition,))
    assert not Tried((0,), 1.0, found, found).passes(Targets(resistance=9.0))
    assert found.worst(Targets(resistance=9.0)) == float("inf")


def test_evaluations_are_kept_as_plain_values():
    found = reaching(0.7, 1.0).thin
    assert Evaluation.of_tree(found.as_tree()) == found


@pytest.mark.parametrize("seed", range(30))
def test_designs_given_up_change_neither_front_nor_cheapest_nor_nearest(seed):
    random = np.random.default_rng(seed)
    variants, targets = ("", "dry", "frozen"), Targets(resistance=1.0)
    # Costs and shares of a few values each, so that many are equal; in some sets none passes.
    costs = random.integers(1, 12, size=60).astype(float)
    hard = random.choice([0.5, 1.5, 4.0])
    shares = np.round(hard * random.uniform(0.3, 3, size=(60, 1)) / np.sqrt(costs)[:, None], 1)
    shares = shares + random.choice([0.0, 0.1, 0.5], size=(60, 3))

    def looked_at(number, names):
        some = [
            Condition(name, shares[number, variants.index(name)], 0.01, 0.0, 0.0, ())
            for name in names
        ]
        found = Evaluation("thin conductors", tuple(some)).among(names, of=variants)
        return Tried((number,), costs[number], found)

    known = {number: [] for number in range(60)}
    while waiting := undecided(
        [looked_at(number, names) for number, names in known.items()], targets=targets
    ):
        (number,) = waiting[0].chosen
        known[number].append(waiting[0].best.left[0])
    some = [looked_at(number, names) for number, names in known.items()]
    every = [looked_at(number, variants) for number in range(60)]
    assert sum(item.given_up for item in some) > 20

    def of(tried):
        able = [item for item in tried if item.may_pass(targets)]
        first = min(able, key=lambda item: (item.cost, item.chosen), default=None)
        nearest = min(tried, key=lambda item: (item.worst(targets), item.chosen))
        return front(tried, targets=targets), first, None if able else nearest

    assert of(some) == of(every)


def test_what_was_given_up_takes_at_least_what_is_known_and_passes_in_no_case():
    found = Evaluation("thin conductors", (Condition("dry", 4.0, 0.01, 0.0, 0.0, ()),))
    part = found.among(["dry"], of=("", "dry"))
    targets = Targets(resistance=5.0)
    assert found.meets(targets)
    assert part.left == ("",)
    assert part.worst(targets) == found.worst(targets)
    assert not part.meets(targets)
    assert Tried((0,), 1.0, part).given_up
    assert Evaluation.of_tree(part.as_tree()) == part
