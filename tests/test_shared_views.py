"""Variants that differ in limits alone: what is seen of the soil is looked at once."""

from dataclasses import fields, is_dataclass

import numpy as np
import pytest
from well_rod import JUDGED, WELL_ROD

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.evaluating import evaluate
from ohmscape.jobs.run import reassess, run_variants
from ohmscape.jobs.solving import Solved
from ohmscape.viz import write_volumes
from ohmscape.viz.result_folder import save_result

pytestmark = pytest.mark.slow

CASE = (
    WELL_ROD
    + """\
variants:
  - name: on rock
    safety: {under_feet: 2000 ohm*m}
  - name: other outline
    safety: {step_outline: 5 V}
  - name: longer pace
    study: {pace: 1.2 m}
study:
  area: {margin: 3 m, spacing: 0.5 m}
  touch: [{name: head, electrode: well rod, points: [[0 m, 0 m]]}]
"""
    + JUDGED
)


@pytest.fixture(scope="module")
def case():
    return load_case_text(CASE)


@pytest.fixture(scope="module")
def results(case):
    return run_variants(case)


def differing(one, other, name=""):
    """Names of what differs between two values, all that they hold looked through."""
    if is_dataclass(one):
        return [
            found
            for item in fields(one)
            for found in differing(
                getattr(one, item.name), getattr(other, item.name), f"{name}.{item.name}"
            )
        ]
    if isinstance(one, tuple) and isinstance(other, tuple) and len(one) == len(other):
        return [
            found for pair in zip(one, other, strict=True) for found in differing(*pair, name)
        ]
    same = np.array_equal(one, other, equal_nan=np.asarray(one).dtype.kind in "fc")
    return [] if same else [name]


def test_other_limits_need_no_other_view(results):
    base, rock, outline, pace = results
    assert rock.surface is base.surface
    assert rock.worst is base.worst
    assert rock.verdict.step_outline is base.verdict.step_outline
    assert rock.verdict.judgements[0].worst_share < base.verdict.judgements[0].worst_share
    assert outline.surface is base.surface
    assert outline.verdict.step_outline.radius > base.verdict.step_outline.radius
    assert pace.surface is not base.surface
    assert pace.worst[-1].voltage > base.worst[-1].voltage


@pytest.mark.parametrize("number", [0, 1])
def test_what_is_shared_is_what_would_be_found_alone(case, results, number):
    alone = evaluate(case.variants[number], Solved.of(results[0]))
    names = differing(results[number + 1], alone)
    assert set(names) <= {".seconds", ".peak_memory"}


def test_other_currents_are_looked_at_anew(results):
    more = "- name: more\n    electrodes: [{name: well rod, drive: {current: 4 A}}]"
    old = "- name: longer pace\n    study: {pace: 1.2 m}"
    assert old in CASE
    base, rock, _, other = reassess(load_case_text(CASE.replace(old, more)), results)
    assert rock.surface is base.surface is not results[0].surface
    np.testing.assert_array_equal(base.surface.step, results[0].surface.step)
    np.testing.assert_allclose(other.surface.step, 4 / 3 * base.surface.step)
    assert other.verdict.step_outline.radius > base.verdict.step_outline.radius


def test_volumes_of_a_shared_view_are_those_of_the_variant(results, tmp_path):
    save_result(results[0], tmp_path / "all", variants=results[1:], pictures=False)
    for folder, result in (("on-rock", results[1]), ("longer-pace", results[3])):
        (tmp_path / folder).mkdir()
        for path in write_volumes(result, tmp_path / folder):
            kept = tmp_path / "all" / "variants" / folder / path.name
            assert kept.read_bytes() == path.read_bytes()
