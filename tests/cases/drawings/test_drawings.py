"""Metal and outlines from drawings that another library wrote."""

import io
from contextlib import suppress
from random import Random

import ezdxf
import numpy as np
import pytest
from numpy.testing import assert_allclose

from ohmscape.cases.drawings.entities import contents_of
from ohmscape.cases.drawings.opening import opened
from ohmscape.cases.drawings.proposal import proposed_case
from ohmscape.cases.loading import case_from, load_case_text
from ohmscape.cases.reading import size_limits
from ohmscape.solver.errors import BudgetError, CaseError

METAL = {"kind": "drawn conductors", "layers": ["EARTH"], "depth": "0.6 m", "diameter": "8 mm"}
RODS = {
    "kind": "drawn rods",
    "blocks": ["STAKE"],
    "top_depth": "0.6 m",
    "length": "3 m",
    "diameter": "16 mm",
}


class Sheet:
    """A drawing being made, on layer EARTH unless it is said."""

    def __init__(self, *, unit=6, release="R2010"):
        self.dxf = ezdxf.new(release)
        if release != "R12":
            self.dxf.units = unit
        self.space = self.dxf.modelspace()
        for name in ("EARTH", "FENCE"):
            self.dxf.layers.add(name)

    def line(self, a, b, layer="EARTH", **more):
        self.space.add_line(a, b, dxfattribs={"layer": layer, **more})
        return self

    def block(self, name, shapes, *places, layer="EARTH", **more):
        if name not in self.dxf.blocks:
            shapes(self.dxf.blocks.new(name))
        for place in places:
            self.space.add_blockref(name, place, dxfattribs={"layer": layer, **more})
        return self

    @property
    def content(self):
        text = io.StringIO()
        self.dxf.write(text)
        return text.getvalue().encode()


@pytest.fixture
def load(content, tmp_path):
    """Case of a drawing and parts."""

    def build(sheet, *parts, drawing=None, **blocks):
        data = sheet if isinstance(sheet, bytes) else sheet.content
        (tmp_path / "plan.dxf").write_bytes(data)
        block = {"file": "plan.dxf", "unit": "m", **(drawing or {})}
        return case_from(content(*(parts or [METAL]), drawing=block, **blocks), folder=tmp_path)

    return build


def square(side=10.0):
    sheet = Sheet()
    corners = [(0, 0), (side, 0), (side, side), (0, side)]
    for a, b in zip(corners, [*corners[1:], corners[0]], strict=True):
        sheet.line(a, b)
    return sheet


def remarks(case, kind):
    return [item.words for item in case.drawing.remarks if item.kind == kind]


def test_lines_are_metal_at_the_depth_of_their_part(load):
    case = load(square())
    assert len(case.conductors.start) == 4
    assert case.joints == 4
    assert_allclose(case.conductors.start[:, 2], -0.6)
    assert case.conductors.length.sum() == pytest.approx(40)
    assert case.drawing.remarks == ()
    assert dict(case.source.tables).keys() == {"plan.dxf"}


@pytest.mark.parametrize(
    ("code", "unit", "metres"),
    [(4, "mm", 1e-3), (2, "ft", 0.3048), (21, "US survey ft", 1200 / 3937)],
)
def test_units_are_those_of_the_drawing(load, code, unit, metres):
    sheet = Sheet(unit=code).line((0, 0), (5000, 0))
    case = load(sheet, drawing={"unit": unit})
    assert case.conductors.length.sum() == pytest.approx(5000 * metres, rel=1e-12)


def test_a_unit_that_the_drawing_denies_is_refused_with_both_sizes(load):
    sheet = Sheet(unit=4).line((0, 0), (5000, 2000))
    with pytest.raises(CaseError, match=r"5 m by 2 m \(in mm\) or 5,000 m by 2,000 m \(in m\)"):
        load(sheet)
    case = load(sheet, drawing={"drawing_says": "mm"})
    assert case.conductors.length.sum() == pytest.approx(np.hypot(5000, 2000))
    with pytest.raises(CaseError, match="says mm, not ft"):
        load(sheet, drawing={"drawing_says": "ft"})


def test_a_drawing_without_a_unit_takes_that_of_the_case(load):
    case = load(Sheet(unit=0).line((0, 0), (3, 0)))
    assert case.conductors.length.sum() == pytest.approx(3)
    with pytest.raises(CaseError, match="leave 'drawing_says' out"):
        load(Sheet(unit=0).line((0, 0), (3, 0)), drawing={"drawing_says": "mm"})


def test_chords_are_within_a_millimetre_of_their_arc(load):
    sheet = Sheet()
    sheet.space.add_arc((1, 2), 10, 30, 200, dxfattribs={"layer": "EARTH"})
    case = load(sheet)
    c = case.conductors
    middle = 0.5 * (c.start + c.end)[:, :2] - (1, 2)
    sagging = 10 - np.linalg.norm(middle, axis=1)
    assert sagging.max() <= 1e-3 * (1 + 1e-6)
    assert_allclose(np.linalg.norm(c.start[:, :2] - (1, 2), axis=1), 10, rtol=1e-9)
    assert c.length.sum() == pytest.approx(10 * np.radians(170), rel=1e-4)
    coarse = load(sheet, drawing={"chord_error": "50 mm"})
    assert len(coarse.conductors.start) < len(c.start) / 5


def test_bulges_are_arcs(load):
    sheet = Sheet()
    # Half a circle: by the format a bulge is the tangent of a quarter of the angle.
    sheet.space.add_lwpolyline(
        [(0, 0, 1), (4, 0, 0)], format="xyb", dxfattribs={"layer": "EARTH"}
    )
    assert load(sheet).conductors.length.sum() == pytest.approx(2 * np.pi, rel=1e-3)


@pytest.mark.parametrize("bulge", [1, -1])
def test_arcs_either_way_keep_their_place_in_a_polyline(load, bulge):
    points = [(0, 0, 0), (4, 0, bulge), (8, 0, 0), (12, 0, bulge), (16, 0, 0)]
    for corners in (points, points[1:]):
        sheet = Sheet()
        sheet.space.add_lwpolyline(corners, format="xyb", dxfattribs={"layer": "EARTH"})
        c = load(sheet).conductors
        straight = 4 * (len(corners) - 3)
        assert c.length.sum() == pytest.approx(straight + 4 * np.pi, rel=1e-3)
        assert_allclose(c.end[:-1], c.start[1:], atol=1e-9)


def test_closed_circles_are_closed(load):
    sheet = Sheet()
    sheet.space.add_circle((0, 0), 5, dxfattribs={"layer": "EARTH"})
    case = load(sheet)
    assert case.joints == len(case.conductors.start)


def test_millimetres_survive_six_million_metres(load):
    far = np.array([6_012_345.0, 5_512_345.0])
    sheet = Sheet().line(tuple(far), (far[0] + 12.345, far[1]))
    with pytest.raises(CaseError, match=r"give 'origin'.*\[\"6012345 m\", \"5512345 m\"\]"):
        load(sheet)
    case = load(sheet, drawing={"origin": ["6012345 m", "5512345 m"], "rotation": "90 deg"})
    assert_allclose(case.conductors.end[0], [0, 12.345, -0.6], atol=1e-8)


def test_ends_that_nearly_meet_are_joined_and_each_is_told(load):
    sheet = square().line((10.003, 0), (20, 0)).line((5, 0.002), (5, -8))
    case = load(sheet, drawing={"join_within": "5 mm"})
    joined = remarks(case, "joined")
    assert len(joined) == 2
    assert "3 mm off, at (10.003, 0.000) m" in joined[0]
    assert "2 mm off" in joined[1]
    # All of it is one piece of metal: as many joints as if it had been drawn exactly.
    exact = square().line((10, 0), (20, 0)).line((5, 0), (5, -8))
    same = load(exact, drawing={"join_within": "5 mm"})
    assert case.joints == same.joints
    assert_allclose(case.conductors.length.sum(), same.conductors.length.sum(), atol=0.006)


def test_ends_farther_than_the_tolerance_stay_apart(load):
    case = load(square().line((10.003, 0), (20, 0)), drawing={"join_within": "2 mm"})
    assert remarks(case, "joined") == []
    assert case.joints == 4


def test_doubles_overlaps_crossings_and_points_are_told(load):
    sheet = square().line((10, 0), (0, 0)).line((2, 0), (6, 0)).line((8, 0), (14, 0))
    sheet.line((3, -2), (3, 4)).line((1, 1), (1, 1))
    case = load(sheet)
    assert len(remarks(case, "taken once")) == 3
    (crossing,) = remarks(case, "crossing")
    assert "(3.000, 0.000)" in crossing
    assert len(remarks(case, "left out")) == 1
    # The square, 4 m beyond it and the line across.
    assert case.conductors.length.sum() == pytest.approx(40 + 4 + 6)


def test_heights_are_told_and_used_where_no_depth_is_given(load):
    sheet = Sheet().line((0, 0, -0.5), (4, 0, -0.9))
    (told,) = remarks(load(sheet), "height")
    assert "-0.9 to -0.5 m" in told
    own = {key: value for key, value in METAL.items() if key != "depth"}
    case = load(sheet, own)
    assert_allclose(case.conductors.end[0], [4, 0, -0.9])
    with pytest.raises(CaseError, match=r"0\.2 m above 0"):
        load(Sheet().line((0, 0, 0.2), (4, 0, 0)), own)


def stake(block):
    block.add_circle((0, 0), 0.2)
    block.add_line((-0.2, 0), (0.2, 0))


def test_blocks_are_rods_on_the_metal_they_nearly_meet(load):
    sheet = square().block("STAKE", stake, (0.004, -0.003), (10, 10), (10, 10.0005))
    case = load(sheet, METAL, RODS, drawing={"join_within": "5 mm"})
    assert case.parts[1].rods == 2
    rods = case.conductors.part == 1
    assert_allclose(case.conductors.start[rods][:, :2], [[0.004, 0], [10, 10]], atol=1e-9)
    assert len(remarks(case, "moved")) == 1
    assert len(remarks(case, "taken once")) == 1
    # The picture of a rod is no conductor, though it stands on the layer of conductors.
    assert case.conductors.length[~rods].sum() == pytest.approx(40)


def test_points_and_circles_are_rods_too(load):
    sheet = square()
    sheet.space.add_point((3, 3), dxfattribs={"layer": "FENCE"})
    sheet.space.add_circle((6, 6), 0.1, dxfattribs={"layer": "FENCE"})
    part = {key: value for key, value in RODS.items() if key != "blocks"}
    case = load(sheet, METAL, part | {"layers": ["FENCE"]})
    rods = case.conductors.part == 1
    assert_allclose(case.conductors.start[rods][:, :2], [[3, 3], [6, 6]], atol=1e-9)


def test_lines_in_blocks_show_on_the_layer_of_the_block_where_theirs_is_0(load):
    def bar(block):
        block.add_line((0, 0), (2, 0), dxfattribs={"layer": "0"})
        block.add_line((0, 1), (5, 1), dxfattribs={"layer": "FENCE"})

    sheet = Sheet().block("BAR", bar, (1, 1), rotation=90, xscale=2)
    case = load(sheet)
    assert_allclose(case.conductors.start[0], [1, 1, -0.6], atol=1e-12)
    assert_allclose(case.conductors.end[0], [1, 5, -0.6], atol=1e-12)
    assert dict(case.drawing.untaken) == {}  # what stands in a block goes with it


def test_colours_select_and_those_of_layers_count(load):
    sheet = square()
    sheet.dxf.layers.get("FENCE").color = 3
    sheet.line((0, 0), (-7, 0), layer="FENCE").line((0, 0), (0, -5), layer="FENCE", color=1)
    part = {"kind": "drawn conductors", "colours": [3], "depth": "1 m", "diameter": "8 mm"}
    assert load(sheet, part).conductors.length.sum() == pytest.approx(7)


def test_nothing_of_the_drawing_is_left_without_a_word(load):
    sheet = square()
    sheet.space.add_text("note", dxfattribs={"layer": "EARTH"})
    sheet.line((0, 0), (-7, 0), layer="FENCE")
    sheet.dxf.layers.get("FENCE").off()
    case = load(sheet)
    assert dict(case.drawing.untaken) == {"EARTH": "1 text", "FENCE": "1 line"}
    assert case.drawing.hidden == ("FENCE",)
    assert "1 text" in remarks(case, "left out")[0]


def test_lines_that_are_no_metal_lie_under_the_maps(load):
    sheet = outlined(square(), close=True).line((0, 0), (-7, 0), layer="OFF")
    sheet.block("STAKE", stake, (0, 0))
    sheet.dxf.layers.add("OFF").freeze()
    case = load(sheet, METAL, RODS)
    assert_allclose(case.drawing.under_maps[:, 0], [(-2, -2), (12, -2), (12, 12), (-2, 12)])
    assert len(load(sheet, drawing={"under_maps": False}).drawing.under_maps) == 0


def test_lines_too_many_to_lie_under_the_maps_are_told(load, monkeypatch):
    monkeypatch.setattr("ohmscape.cases.drawings.reading.MOST_UNDERLAID", 3)
    case = load(outlined(square(), close=True))
    assert len(case.drawing.under_maps) == 0
    assert remarks(case, "left out") == [
        "4 pieces of other lines are too many to lie under the maps"
    ]


def test_a_block_in_itself_is_told_and_ends(load):
    sheet = square()
    block = sheet.dxf.blocks.new("LOOP")
    block.add_blockref("LOOP", (1, 1))
    sheet.space.add_blockref("LOOP", (0, 0), dxfattribs={"layer": "FENCE"})
    case = load(sheet)
    assert any("stands in itself" in words for words in remarks(case, "not followed"))


def test_blocks_that_breed_are_refused_before_they_fill_the_memory(load, monkeypatch):
    monkeypatch.setattr("ohmscape.cases.drawings.entities.MOST_ENTITIES", 1000)
    sheet = square()
    for level in range(12):
        block = sheet.dxf.blocks.new(f"B{level}")
        for _ in range(3):
            block.add_blockref(f"B{level + 1}", (0, 0))
    sheet.dxf.blocks.new("B12").add_line((0, 0), (1, 0))
    sheet.space.add_blockref("B0", (0, 0), dxfattribs={"layer": "FENCE"})
    with pytest.raises(BudgetError, match="blocks taken apart"):
        load(sheet)


def test_parts_of_other_electrodes_are_not_joined(content, tmp_path):
    sheet = Sheet().line((0, 0), (5, 0)).line((5.003, 0), (9, 0), layer="FENCE")
    (tmp_path / "plan.dxf").write_bytes(sheet.content)
    case = content(METAL, drawing={"file": "plan.dxf", "unit": "m", "join_within": "10 mm"})
    other = {
        "name": "fence",
        "drive": {"floating": True},
        "parts": [METAL | {"layers": ["FENCE"]}],
    }
    case["electrodes"].append(other)
    # As near as this they are metal inside one another, which no two electrodes can be.
    with pytest.raises(CaseError, match="must not touch"):
        case_from(case, folder=tmp_path)


def outlined(sheet, **more):
    sheet.space.add_lwpolyline(
        [(-2, -2), (12, -2), (12, 12), (-2, 12)], dxfattribs={"layer": "FENCE"}, **more
    )
    return sheet


def test_outlines_stand_wherever_a_case_takes_one(load):
    named = {"outlines": [{"name": "fence", "layers": ["FENCE"]}]}
    study = {
        "touch": [
            {"name": "inside", "electrode": "main", "polygon": {"drawn": "fence"}},
            {"name": "along", "electrode": "main", "line": {"drawn": "fence"}},
        ]
    }
    soil = {
        "layers": [{"resistivity": "120 ohm*m"}],
        "bodies": [
            {"name": "pad", "kind": "slab", "outline": {"drawn": "fence"}, "thickness": "0.2 m",
             "resistivity": "900 ohm*m"}
        ],
    }  # fmt: skip
    case = load(outlined(square(), close=True), drawing=named, study=study, soil=soil)
    inside, along = case.study.touchables
    assert_allclose(inside.points, [(-2, -2), (12, -2), (12, 12), (-2, 12)])
    assert_allclose(along.points, [(-2, -2), (12, -2), (12, 12), (-2, 12), (-2, -2)])
    assert case.soil.bodies[0].name == "pad"
    assert ("fence", "1 polyline on 'FENCE'") in case.drawing.taken


def test_outlines_that_do_not_go_round_or_are_several_are_refused(load):
    named = {"outlines": [{"name": "fence", "layers": ["FENCE"]}]}
    study = {"touch": [{"name": "a", "electrode": "main", "polygon": {"drawn": "fence"}}]}
    with pytest.raises(CaseError, match=r"does not go round: its ends are 14\.000 m apart"):
        load(outlined(square()), drawing=named, study=study)
    study["touch"][0] = {"name": "a", "electrode": "main", "line": {"drawn": "fence"}}
    assert len(load(outlined(square()), drawing=named, study=study).study.touchables) == 1
    twice = outlined(outlined(square(), close=True), close=True)
    with pytest.raises(CaseError, match="selects 2 closed lines"):
        load(twice, drawing=named, study=study)
    study["touch"][0]["line"] = {"drawn": "fense"}
    with pytest.raises(CaseError, match="did you mean 'fence'"):
        load(outlined(square(), close=True), drawing=named, study=study)


def test_an_outline_that_crosses_itself_is_refused(load):
    sheet = square()
    sheet.space.add_lwpolyline(
        [(0, 0), (9, 9), (9, 0), (0, 9)], close=True, dxfattribs={"layer": "FENCE"}
    )
    named = {"outlines": [{"name": "fence", "layers": ["FENCE"]}]}
    study = {"touch": [{"name": "a", "electrode": "main", "polygon": {"drawn": "fence"}}]}
    with pytest.raises(CaseError, match="goes round once"):
        load(sheet, drawing=named, study=study)


def test_drawn_things_need_a_drawing(content):
    with pytest.raises(CaseError, match="the case names no drawing"):
        case_from(content(METAL))
    study = {"touch": [{"name": "a", "electrode": "main", "polygon": {"drawn": "fence"}}]}
    with pytest.raises(CaseError, match="and the case has none"):
        case_from(content(study=study))


def test_names_that_the_drawing_lacks_are_refused(load):
    with pytest.raises(CaseError, match=r"no layer of plan\.dxf 'ERTH'.*did you mean 'EARTH'"):
        load(square(), METAL | {"layers": ["ERTH"]})
    bare = {key: value for key, value in METAL.items() if key != "layers"}
    with pytest.raises(CaseError, match="give 'layers', 'colours' or 'blocks'"):
        load(square(), bare)
    with pytest.raises(CaseError, match="it selects nothing at all"):
        load(square(), METAL | {"colours": [99]})


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"not a drawing at all", "is no DXF drawing"),
        (b"SECTION\0\0\0", "is binary"),
        (b"  0\nSECTION\n  2\nHEADER\n  9\n", "cannot be read|holds no lines"),
    ],
)
def test_what_is_no_drawing_is_refused(load, data, words):
    with pytest.raises(CaseError, match=words):
        load(data)


def test_drawings_before_release_12_are_refused():
    content = Sheet(release="R12").line((0, 0), (1, 0)).content
    assert opened(content, file="a.dxf")[1] == ()
    with pytest.raises(CaseError, match="before 12"):
        opened(content.replace(b"AC1009", b"AC1006"), file="a.dxf")


def test_mangled_drawings_are_refused_or_read_and_nothing_else():
    sheet = square().block("STAKE", stake, (1, 2), xscale=2, yscale=-1, rotation=30)
    sheet.space.add_spline([(0, 0, 0), (1, 2, 0), (3, 4, 0), (5, 5, 0)])
    sheet.space.add_ellipse((0, 0), (3, 0), 0.5)
    sheet.space.add_lwpolyline([(0, 0, 1), (4, 0, 0)], format="xyb")
    whole, random = sheet.content, Random(19)
    body = whole.index(b"ENTITIES")
    read = 0
    for _ in range(150):
        content = bytearray(whole)
        for _ in range(random.choice([1, 2, 5])):
            at = random.randrange(body, len(content))
            if random.random() < 0.4:
                content[at] = random.randrange(256)
            elif random.random() < 0.5:
                del content[at : at + random.randrange(1, 50)]
            else:
                content[at:at] = random.choice([b"0\n", b"-1\n", b"1e308\n", b"nan\n"])
        with suppress(CaseError):
            drawing, said = opened(bytes(content), file="plan.dxf")
            contents_of(drawing, chord=0.01, said=said)
            read += 1
    assert 5 < read < 145


def test_large_drawings_are_refused_before_they_are_read(monkeypatch):
    content = square().content
    monkeypatch.setattr("ohmscape.cases.drawings.opening.LARGEST_DRAWING", len(content) - 1)
    with pytest.raises(BudgetError, match="at most"):
        opened(content, file="a.dxf")
    entity = b"  0\nLINE\n  8\nEARTH\n"
    many = content[:200] + entity * (size_limits.MOST_ENTITIES + 2)
    monkeypatch.undo()
    with pytest.raises(BudgetError, match="entities"):
        opened(many, file="a.dxf")


def test_the_proposed_case_takes_what_its_names_say(tmp_path):
    sheet = outlined(square(), close=True)
    sheet.block("GROUND ROD", stake, (0, 0), (10, 10)).line((0, 0), (0, -4), layer="A b #")
    text = proposed_case(sheet.content, file="plan.dxf")
    (tmp_path / "plan.dxf").write_bytes(sheet.content)
    case = load_case_text(text, folder=tmp_path)
    assert [part.kind for part in case.parts] == ["drawn conductors", "drawn rods"]
    assert case.conductors.length.sum() == pytest.approx(40 + 2 * 3)
    assert "overall 14.0 m by 14.0 m" in text or "overall 14.0 m by 16.0 m" in text
    assert "# - kind: drawn conductors    # 1 polyline" in text


def test_a_proposal_asks_for_the_unit_where_the_drawing_says_none():
    sheet = Sheet(unit=0).line((0, 0), (5000, 1000))
    with pytest.raises(CaseError, match=r"in mm it is 5 m by 1 m.*--unit"):
        proposed_case(sheet.content, file="plan.dxf")
    assert "unit: mm" in proposed_case(sheet.content, file="plan.dxf", unit="mm")


def test_variants_change_the_depth_of_what_is_drawn(load):
    sheet = Sheet().line((0, 0), (10, 0)).line((0, 5), (10, 5), layer="FENCE")
    parts = [{"name": "deep", "depth": "1.2 m"}]
    other = [{"name": "deep", "layers": ["FENCE"]}]
    case = load(
        sheet,
        {**METAL, "name": "deep"},
        variants=[
            {"name": "deeper", "electrodes": [{"name": "main", "parts": parts}]},
            {"name": "other", "electrodes": [{"name": "main", "parts": other}]},
        ],
    )
    deeper, elsewhere = (each.conductors for each in case.variants)
    assert_allclose(case.conductors.start[:, 2], -0.6)
    assert_allclose(deeper.start[:, 2], -1.2)
    assert_allclose(elsewhere.start[:, 1], 5)


def test_another_drawing_in_a_variant_is_refused_with_a_remedy(load):
    sheet = Sheet().line((0, 0), (10, 0))
    with pytest.raises(CaseError, match="drawing: is that of the case in all its variants"):
        load(sheet, METAL, variants=[{"name": "new", "drawing": {"file": "new.dxf"}}])
