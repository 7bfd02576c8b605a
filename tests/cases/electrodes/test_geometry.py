"""What metal cannot do is refused with names and places."""

import pytest

from ohmscape.solver.errors import CaseError


def run(*points, diameter="10 mm", **more):
    return {"kind": "conductor", "points": points, "diameter": diameter, **more}


def refusal(case_with, *parts, **blocks):
    with pytest.raises(CaseError) as refused:
        case_with(*parts, **blocks)
    return [str(problem) for problem in refused.value.problems]


def test_a_rod_shorter_than_its_diameter_is_refused(case_with, rod):
    short = rod | {"name": "stub", "length": "40 mm", "diameter": "50 mm"}
    message = (
        r"electrodes\[1\] 'main'\.parts\[1\] 'stub': 'stub' of 'main' at \(0, 0\) m, 0\.02 m "
        r"deep is 0\.04 m long and 0\.05 m wide; metal must be longer than wide: lengthen it or"
    )
    with pytest.raises(CaseError, match=message):
        case_with(short)


def test_a_rod_just_longer_than_its_diameter_is_taken(case_with, rod):
    stub = rod | {"length": "51 mm", "diameter": "50 mm"}
    assert len(case_with(stub).conductors.start) == 1


def test_a_repeated_corner_is_a_piece_without_length(case_with):
    bent = run(*([f"{x} m", "0 m", "1 m"] for x in (0, 3, 3, 5)))
    with pytest.raises(
        CaseError, match=r"piece 2 of 'main' at \(3, 0\) m, 1 m deep is 0 m long"
    ):
        case_with(bent)


def test_depths_above_ground_are_refused_wherever_they_stand(case_with, tmp_path):
    (tmp_path / "rods.csv").write_text(
        "x [m],y [m],top_depth [m],length [m],diameter [mm]\n0,0,-1,3,16\n"
    )
    with pytest.raises(CaseError, match=r"rods\.csv:2: top_depth: -1 is -1 m; allowed from 0"):
        case_with({"kind": "rod table", "file": "rods.csv"}, folder=tmp_path)
    with pytest.raises(CaseError, match=r"'-1 mm' is below the 0 m allowed"):
        case_with(run(["0 m", "0 m", "1 m"], ["2 m", "0 m", "-1 mm"]))


def test_metal_that_sticks_out_of_the_ground_is_refused(case_with):
    message = (
        r"lies 0\.003 m deep at most and, with what covers it, is 0\.01 m wide: it sticks out "
        r"of the ground; bury it deeper"
    )
    with pytest.raises(CaseError, match=message):
        case_with(run(["0 m", "0 m"], ["9 m", "0 m"], depth="3 mm"))


def test_metal_on_the_surface_lies_at_no_depth(case_with):
    with pytest.raises(CaseError, match="lies 0 m deep at most"):
        case_with(run(["0 m", "0 m"], ["9 m", "0 m"], depth="0 m"))


def test_backfill_counts_for_sticking_out(case_with):
    wire = run(["0 m", "0 m"], ["9 m", "0 m"], depth="0.1 m")
    assert case_with(wire)
    covered = wire | {"backfill": {"diameter": "0.3 m", "resistivity": "5 ohm*m"}}
    with pytest.raises(CaseError, match=r"with what covers it, is 0\.3 m wide"):
        case_with(covered)


def test_a_rod_may_start_at_the_surface(case_with, rod):
    assert case_with(rod | {"top_depth": "0 m"}).conductors.start[0, 2] == 0


def test_crossing_conductors_of_two_electrodes_are_refused(case_with, two_electrodes):
    along = run(["-2 m", "1 m"], ["4 m", "1 m"], depth="0.5 m", name="feeder")
    across = run(["1 m", "-2 m"], ["1 m", "4 m"], depth="0.5 m", name="wire")
    (message,) = refusal(case_with, electrodes=two_electrodes([along], [across]))
    assert message.startswith("electrodes[2] 'fence'.parts[1] 'wire': ")
    assert "'feeder' of 'station' and 'wire' of 'fence' touch (axes 0 m apart)" in message
    assert "at (1, 1) m, 0.5 m deep" in message
    assert "move one, or put both into one electrode" in message


def test_two_electrodes_touch_when_their_faces_do(case_with, two_electrodes, rod):
    def beside(gap):
        return two_electrodes([rod], [rod | {"at": [gap, "0 m"], "diameter": "20 mm"}])

    # 8 mm and 10 mm of radius.
    assert case_with(electrodes=beside("18.1 mm"))
    with pytest.raises(CaseError, match=r"touch \(axes 0\.0179 m apart\)"):
        case_with(electrodes=beside("17.9 mm"))


def test_backfills_of_two_electrodes_must_not_meet(case_with, two_electrodes, rod):
    fill = {"backfill": {"diameter": "0.3 m", "resistivity": "5 ohm*m"}}
    first, second = rod | fill, rod | fill | {"at": ["0.29 m", "0 m"]}
    message = r"come within each other's backfill or coating \(axes 0\.29 m apart\)"
    with pytest.raises(CaseError, match=message):
        case_with(electrodes=two_electrodes([first], [second]))
    apart = second | {"at": ["0.31 m", "0 m"]}
    assert case_with(electrodes=two_electrodes([first], [apart]))


def _filled(rod, cover, **more):
    fill = {"diameter": "0.3 m", "resistivity": "5 ohm*m", "cover": cover}
    return rod | {"backfill": fill} | more


def test_fill_beyond_the_top_of_a_rod_must_be_in_the_ground(case_with, rod):
    assert case_with(_filled(rod, "0.25 m", top_depth="0.3 m"))
    # From the surface the rod has no upper end in the soil.
    assert case_with(_filled(rod, "0.35 m", top_depth="0 m"))
    message = (
        r"'rod 1' of 'main' at .* has fill or coating that goes on for 0\.35 m beyond its "
        r"upper end, to above ground; bury it deeper or give less backfill\.cover"
    )
    with pytest.raises(CaseError, match=message):
        case_with(_filled(rod, "0.35 m", top_depth="0.3 m"))


def test_fill_beyond_a_rod_must_not_reach_another_electrode(case_with, two_electrodes, rod):
    def below(cover):
        upper = _filled(rod, cover, top_depth="0 m", length="2 m")
        return two_electrodes([upper], [rod | {"top_depth": "2.5 m", "length": "1 m"}])

    # Fill of 0.15 m radius keeps that clear of the other rod's axis, 8 mm thick.
    assert case_with(electrodes=below("0.34 m"))
    message = (
        r"come within each other's backfill or coating \(axes 0 m apart where the fill beyond "
        r"an end is\)"
    )
    with pytest.raises(CaseError, match=message):
        case_with(electrodes=below("0.55 m"))


def test_a_part_given_twice_overlaps_itself(case_with, rod):
    message = (
        r"parts\[2\] 'copy': 'rod 1' of 'main' and 'copy' of 'main' run inside one another "
        r"for 3\.7 m \(axes nearer than 0\.016 m\); leave one of them out or move it; at "
        r"\(0, 0\) m, 1\.85 m deep"
    )
    with pytest.raises(CaseError, match=message):
        case_with(rod, rod | {"name": "copy"})


def test_conductors_that_overlap_in_part_are_refused_with_the_length(case_with):
    first = run(["0 m", "0 m"], ["6 m", "0 m"], depth="0.5 m")
    second = run(["4.5 m", "0 m"], ["9 m", "0 m"], depth="0.5 m")
    with pytest.raises(CaseError, match=r"run inside one another for 1\.5 m"):
        case_with(first, second)


def test_conductors_side_by_side_within_their_width_are_refused(case_with):
    # A near miss: 9 mm between axes of 10 mm wire. At 11 mm they lie free.
    first = run(["0 m", "0 m"], ["6 m", "0 m"], depth="0.5 m")
    second = run(["1 m", "9 mm"], ["5 m", "9 mm"], depth="0.5 m")
    with pytest.raises(CaseError, match=r"run inside one another for 4 m"):
        case_with(first, second)
    free = run(["1 m", "11 mm"], ["5 m", "11 mm"], depth="0.5 m")
    assert case_with(first, free).joints == 0


def test_a_side_shared_by_two_loops_is_refused(case_with):
    def square(x):
        points = [[f"{x + a} m", f"{b} m"] for a, b in ((0, 0), (5, 0), (5, 5), (0, 5))]
        return {"kind": "loop", "points": points, "depth": "1 m", "diameter": "8 mm"}

    with pytest.raises(CaseError, match=r"'loop 1' piece 2 of 'main' and 'loop 2' piece 4"):
        case_with(square(0), square(5))


def test_metal_may_meet_at_a_sharp_bend(case_with):
    # 20 degrees: near the joint the two lie inside one another, as real metal does.
    bent = run(["0 m", "0 m"], ["5 m", "0 m"], ["0.3 m", "1.71 m"], depth="0.5 m")
    assert case_with(bent).joints == 1


def test_many_faults_of_one_pair_are_told_once_and_counted(case_with, two_electrodes):
    grid = {
        "kind": "grid",
        "corner": ["0 m", "0 m"],
        "size": ["9 m", "9 m"],
        "meshes": [3, 3],
        "depth": "0.5 m",
        "diameter": "10 mm",
    }
    other = grid | {"corner": ["1 m", "1 m"]}
    (message,) = refusal(case_with, electrodes=two_electrodes([grid], [other]))
    # Lines of one cross lines of the other: 3 of 4 reach in each direction, 2 × 3 × 3,
    # and no line lies on another.
    assert "(and 17 more like it)" in message


def test_every_fault_is_reported_at_once(case_with, rod):
    short = rod | {"name": "stub", "at": ["9 m", "0 m"], "length": "5 mm"}
    flat = run(["0 m", "5 m"], ["9 m", "5 m"], depth="1 mm", name="flat")
    messages = refusal(case_with, short, flat)
    assert ["stub" in messages[0], "flat" in messages[1]] == [True, True]
