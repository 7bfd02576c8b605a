"""What looks alike of a case and its variants is drawn once, for each of their folders."""

from dataclasses import replace

import pytest
from well_rod import JUDGED, WELL_ROD

from ohmscape.cases.loading import load_case_text
from ohmscape.jobs.run import run_variants
from ohmscape.viz.drawing import look_alike, pictures_of
from ohmscape.viz.maps.surface_maps import surface_maps
from ohmscape.viz.result_folder import load_results, save_result
from ohmscape.viz.studio.parts import Studio

pytestmark = pytest.mark.slow

CASE = (
    WELL_ROD
    + """\
variants:
  - name: on rock
    safety: {under_feet: 2000 ohm*m}
  - name: more
    electrodes: [{name: well rod, drive: {current: 4 A}}]
study:
  area: {margin: 3 m, spacing: 1 m}
  profiles: [{name: away, start: [0 m, 0 m], end: [3 m, 0 m]}]
  touch: [{name: head, electrode: well rod, points: [[0 m, 0 m]]}]
"""
    + JUDGED
)


@pytest.fixture(scope="module")
def results():
    return run_variants(load_case_text(CASE))


def test_other_limits_look_alike_and_other_currents_or_titles_do_not(results):
    base, rock, more = results
    assert look_alike(base, rock)
    assert not look_alike(base, more)
    assert not look_alike(base, replace(rock, title="another"))
    assert not look_alike(base, replace(rock, metals=()))
    unlike = replace(rock.verdict, growth_factor=1.5)  # it is in the words of the step map
    assert not look_alike(base, replace(rock, verdict=unlike))


def test_each_folder_has_what_would_be_drawn_of_its_result_alone(
    results, tmp_path, monkeypatch
):
    drawn = []
    draw = Studio.draw
    monkeypatch.setattr(
        Studio, "draw", lambda *args, **named: drawn.append(args[1]) or draw(*args, **named)
    )
    save_result(results[0], tmp_path / "all", variants=results[1:])
    assert [kind for kind, number in drawn if number == 1] == ["margins", "profiles"]
    assert {kind for kind, number in drawn if number == 2} == set(pictures_of)
    for loaded in load_results(tmp_path / "all")[1:]:
        assert not look_alike(results[0], loaded)
        save_result(loaded, tmp_path / loaded.variant)
        alone = sorted((tmp_path / loaded.variant).glob("*.[ps][nv]g"))
        kept = tmp_path / "all" / "variants" / loaded.variant.replace(" ", "-")
        assert [path.name for path in alone] == sorted(
            path.name for path in kept.glob("*.[ps][nv]g")
        )
        for path in alone:
            assert (kept / path.name).read_bytes() == path.read_bytes(), path.name


def test_shared_maps_are_those_of_the_other_result(results):
    base, rock, _ = results
    one, other = replace(base), replace(rock)
    studio = Studio(None)
    studio.add(one, place="")
    studio.add(other, place="variants/on-rock/", alike=0)
    first, second = surface_maps(one), surface_maps(other)
    assert {key for key in first if first[key] is second[key]} == {
        "potential",
        "touch0",
        "step",
    }
    assert second["share0"].values.max() < first["share0"].values.max()
