"""What the work is filed under: text on one line each, carried as it stands or refused."""

import jsonschema
import pytest

from ohmscape.cases.loading import case_from
from ohmscape.cases.schema import case_file_schema
from ohmscape.jobs.understood import understood
from ohmscape.solver.errors import CaseError


def test_a_case_carries_its_job_in_the_order_of_the_schema(content):
    job = {"prepared_by": "R. Ashdown", "number": " 7-03 ", "client": "Møller & Søn"}
    assert case_from(content(job=job)).job == (
        ("number", "7-03"),
        ("client", "Møller & Søn"),
        ("prepared_by", "R. Ashdown"),
    )


def test_check_says_it_in_one_line_or_not_at_all(content):
    job = {"site": "Kiln Lane", "number": "7-03", "prepared_by": "R. Ashdown"}
    told = understood(case_from(content(job=job))).splitlines()
    assert told[1] == "Job number 7-03; site Kiln Lane; prepared by R. Ashdown"
    case = case_from(content())
    assert case.job == ()
    assert understood(case).splitlines()[1] == ""


@pytest.mark.parametrize(
    ("job", "why"),
    [
        ({"number": 5}, r"job\.number: 5 is not a line of words: write text, in quotes"),
        ({"client": "  "}, r"job\.client: '  ' is not a line of words"),
        ({"site": ""}, r"job\.site: '' is not a line of words"),
        ({"site": "x" * 161}, r"job\.site: .* at most 160 printable characters on one line"),
        ({"number": "x" * 41}, "at most 40 printable characters"),
        ({"revision": "A\nB"}, r"job\.revision: .* on one line"),
        ({"client": "\u202eABC"}, r"job\.client: .* printable"),
        ({"prepared_by": None}, r"job\.prepared_by: is empty"),
        ({"nummer": "5"}, "did you mean 'number'"),
        ({}, "job: says nothing; give one of number, client"),
    ],
)
def test_what_is_no_line_of_words_is_refused(content, job, why):
    with pytest.raises(CaseError, match=why):
        case_from(content(job=job))


def test_editors_are_told_of_the_limits(content):
    checker = jsonschema.Draft202012Validator(case_file_schema())
    assert checker.is_valid(content(job={"site": "x" * 160}))
    for wrong in ({"site": "x" * 161}, {"site": " "}, {"number": 5}, {"nummer": "5"}):
        assert not checker.is_valid(content(job=wrong))
