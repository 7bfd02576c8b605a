"""Any tree of frozen dataclasses goes to JSON and arrays and comes back the same."""

import json
import math
from dataclasses import dataclass, fields, is_dataclass, make_dataclass
from typing import Literal

import numpy as np
import pytest

from ohmscape.solver.model import Flags, Floats, Integers, Phasors
from ohmscape.solver.results.packing import UnknownFieldError, pack, unpack
from ohmscape.solver.soil_survey import SurveyFit, fit_survey


@dataclass(frozen=True)
class Ball:
    radius: float
    centre: tuple[float, float, float]


@dataclass(frozen=True)
class Wall:
    corners: Floats
    name: str = "wall"
    doors: tuple["Wall | Ball", ...] = ()


@dataclass(frozen=True)
class Post:
    radius: float


Body = Ball | Wall | Post


@dataclass(frozen=True)
class Yard:
    bodies: list[Body]
    nearest: Body | None
    by_name: dict[str, Body | None]
    by_number: dict[int, tuple[Floats, str]]
    amount: int | float | complex | str | bool | None
    rows: tuple[tuple[int, Body], ...]
    season: Literal["wet", "dry"]
    impedance: complex
    signal: Phasors | None


def through(kind, value):
    """The value after it was text."""
    packed, arrays = pack(kind, value, name="it")
    return unpack(kind, json.loads(json.dumps(packed)), arrays=arrays)


def same(one, two):
    if type(one) is not type(two):
        return False
    if is_dataclass(one):
        return all(same(getattr(one, f.name), getattr(two, f.name)) for f in fields(one))
    if isinstance(one, np.ndarray):
        exact = one.dtype == two.dtype and one.shape == two.shape
        return exact and np.array_equal(one, two, equal_nan=one.dtype.kind in "fc")
    if isinstance(one, (tuple, list)):
        return len(one) == len(two) and all(map(same, one, two))
    if isinstance(one, dict):
        pairs = zip(one.items(), two.items(), strict=False)
        return len(one) == len(two) and all(same(a, b) for a, b in pairs)
    if isinstance(one, complex):
        return same(one.real, two.real) and same(one.imag, two.imag)
    if isinstance(one, float) and math.isnan(one):
        return math.isnan(two)
    return one == two and math.copysign(1, one if one.__class__ is float else 1) == (
        math.copysign(1, two if two.__class__ is float else 1)
    )


PLAIN = {
    float: [0.1, -0.0, math.inf, -math.inf, math.nan, 5e-324],
    int: [0, -7, 10**30],
    bool: [True, False],
    str: ["", "ρ in Ω·m", 'a "quoted"\nline', "\ud800", "kind"],
    complex: [0j, 1 - 2j, complex(math.nan, math.inf)],
    type(None): [None],
}
ARRAYS = {
    Floats: lambda rng: rng.choice([1.5, np.nan, -np.inf], size=rng.integers(0, 3, 2)),
    Integers: lambda rng: rng.integers(-9, 9, size=rng.integers(0, 4)),
    Flags: lambda rng: rng.random(rng.integers(0, 4)) < 0.5,
    Phasors: lambda rng: rng.random(3) * 1j,
}


def anything(rng, depth):
    """A kind drawn at random, and what draws values of it."""
    kinds = (
        ["plain", "array"] if depth == 0 else ["tuple", "list", "dict", "union", "class", "row"]
    )
    choice = rng.choice(kinds)
    if choice == "plain":
        kind = list(PLAIN)[rng.integers(len(PLAIN))]
        return kind, lambda rng: PLAIN[kind][rng.integers(len(PLAIN[kind]))]
    if choice == "array":
        kind = list(ARRAYS)[rng.integers(len(ARRAYS))]
        return kind, ARRAYS[kind]
    if choice == "union":
        return _union(rng, depth)
    if choice == "class":
        return _class(rng, depth)
    inner, draw = anything(rng, depth - 1)
    if choice == "row":
        second, draw_second = anything(rng, depth - 1)
        return tuple[inner, second], lambda rng: (draw(rng), draw_second(rng))
    if choice == "dict":
        key = [str, int][rng.integers(2)]

        def named(rng):
            keys = [PLAIN[key][rng.integers(len(PLAIN[key]))] for _ in range(3)]
            return {name: draw(rng) for name in keys}

        return dict[key, inner], named
    kind = tuple[inner, ...] if choice == "tuple" else list[inner]
    made = tuple if choice == "tuple" else list
    return kind, lambda rng: made(draw(rng) for _ in range(rng.integers(0, 4)))


def _class(rng, depth):
    parts = [anything(rng, rng.integers(depth)) for _ in range(rng.integers(0, 4))]
    name = f"Kind{rng.integers(10**12)}"
    kind = make_dataclass(
        name, [(f"part_{k}", part) for k, (part, _) in enumerate(parts)], frozen=True
    )
    return kind, lambda rng: kind(*(draw(rng) for _, draw in parts))


def _union(rng, depth):
    classes = [_class(rng, depth) for _ in range(rng.integers(1, 4))]
    plain = [
        (kind, lambda rng, kind=kind: PLAIN[kind][0]) for kind in (str, complex, type(None))
    ]
    members = [*classes, *plain[: rng.integers(0, 4)], (Floats, ARRAYS[Floats])]
    kind = members[0][0]
    for member, _ in members[1:]:
        kind = kind | member
    draws = [draw for _, draw in members]
    return kind, lambda rng: draws[rng.integers(len(draws))](rng)


@pytest.mark.parametrize("seed", range(150))
def test_trees_drawn_at_random_come_back_the_same(seed):
    rng = np.random.default_rng(seed)
    kind, draw = _class(rng, depth=4)
    for _ in range(3):
        value = draw(rng)
        assert same(value, through(kind, value))


def test_what_is_held_to_be_the_same_can_differ():
    ball = Ball(1.0, (0.0, 0.0, 0.0))
    assert not same(ball, Ball(1.0, (0.0, -0.0, 0.0)))
    assert not same(ball, Post(1.0))
    assert not same(Wall(np.zeros(2)), Wall(np.zeros(2, dtype=int)))
    assert not same({"a": 1, "b": 2}, {"b": 2, "a": 1})
    assert not same(1, True)


@pytest.mark.parametrize("amount", [3, 3.0, 3j, "3", True, None])
def test_a_union_keeps_which_kind_a_value_is(amount):
    wall = Wall(np.arange(6.0).reshape(2, 3), doors=(Ball(1.0, (0.0, 1.0, 2.0)),))
    yard = Yard(
        bodies=[Post(0.1), Ball(0.1, (1.0, 2.0, 3.0)), wall],
        nearest=Post(0.1),
        by_name={"a/b": wall, "": None},
        by_number={7: (np.zeros(2), "seven")},
        amount=amount,
        rows=((1, Post(2.0)), (2, wall)),
        season="dry",
        impedance=2 + 3j,
        signal=None,
    )
    assert same(yard, through(Yard, yard))


def test_the_fit_of_a_survey_can_be_kept(survey):
    fit = fit_survey(survey, most_layers=2)
    again = through(SurveyFit, fit)
    assert same(fit, again)
    assert again.best.soil == fit.best.soil
    assert again.best.equivalents(2) == fit.best.equivalents(2)


@pytest.fixture(scope="module")
def survey():
    from ohmscape.solver.soil_survey import FourPinReadings, Survey, Traverse

    readings = FourPinReadings.wenner(
        [0.5, 1.0, 2.0, 4.0, 8.0, 16.0],
        apparent_resistivity=[199.0, 190.0, 150.0, 95.0, 68.0, 61.0],
    )
    return Survey((Traverse("a"),), readings)


@pytest.mark.parametrize(
    ("kind", "value", "message"),
    [
        (Ball, Post(1.0), "it is Post.*, not Ball"),
        (Ball, Ball("1", (0.0, 0.0, 0.0)), r"it\.radius is '1', not float"),
        (Ball, Ball(1j, (0.0, 0.0, 0.0)), r"it\.radius is 1j, not float"),
        (Post | Wall, 3, "it is 3, not Post or Wall"),
        (Floats, np.array([None]), "it is array.*, not an array of numbers"),
        (Ball | None, Post(1.0), "not Ball"),
        (object, 3, "object'> cannot be kept in a result"),
        (tuple[int] | tuple[str], (3,), "two kinds of tuple"),
        (Literal["wet"], "dry", "it is 'dry', not Literal"),
    ],
)
def test_what_cannot_come_back_is_refused_on_the_way_out(kind, value, message):
    with pytest.raises(TypeError, match=message):
        pack(kind, value, name="it")


@pytest.mark.parametrize(
    ("kind", "packed", "error"),
    [
        (Ball, {"radius": 1.0}, KeyError),
        (Ball, {"radius": "1", "centre": [0, 0, 0]}, TypeError),
        (Ball, {"radius": 1.0, "centre": [0, 0]}, ValueError),
        (Ball, {"radius": 1.0, "centre": "abc"}, TypeError),
        (Ball, {"radius": 1.0, "centre": [0, 0, 0], "colour": "blue"}, UnknownFieldError),
        (Post | Wall, {"kind": "Tree", "value": {}}, KeyError),
        (Floats, "none", KeyError),
        (str, 3, TypeError),
        (int, None, TypeError),
    ],
)
def test_what_is_damaged_is_refused_on_the_way_in(kind, packed, error):
    with pytest.raises(error):
        unpack(kind, packed, arrays={})


def test_a_field_with_a_default_may_be_missing():
    corners = np.zeros((2, 3))
    wall = unpack(Wall, {"corners": "it.corners"}, arrays={"it.corners": corners})
    assert same(wall, Wall(corners))
