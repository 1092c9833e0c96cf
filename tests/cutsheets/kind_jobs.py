"""One line of a job, worked out as the command line does it, for the tests of the kinds."""

import pytest

from cutsheets.cutlist import as_json, cut_list
from cutsheets.errors import CutsheetError
from cutsheets.files.job import line_from_dict, read_job, write_job
from cutsheets.kinds import KINDS
from cutsheets.rules import Rules

IN = 25.4
PCF = {"EPS 1.0": 16.01846337396}


def job_of(unit, **line):
    """Return a job file with one line; its grade weighs 1 lb/ft³."""
    density = 1 if unit == "in" else PCF["EPS 1.0"]
    return {
        "format": "blockyard-job-1", "unit": unit, "grades": {"EPS 1.0": {"density": density}},
        "lines": [{"mark": "A", "grade": "EPS 1.0"} | line],
    }  # fmt: skip


def cut(unit="in", **line):
    """Return the line as its cut list shows it."""
    job = read_job(job_of(unit, **line))
    return as_json(job, cut_list(job))["lines"][0]


def work(unit="in", *, rules=None, **line):
    """Return the line worked out, mm."""
    raw = {"mark": "A", "grade": "EPS 1.0"} | line
    return KINDS[line["kind"]].work(line_from_dict(raw, unit, rules or Rules(), grades=PCF))


def refusal(unit="in", **line):
    """Return code and place of the refusal of a line."""
    with pytest.raises(CutsheetError) as caught:
        work(unit, **line)
    assert caught.value.message.endswith(".")
    return caught.value.code, caught.value.where


def written_again(unit="in", **line):
    """Return a job read from a file, and the same after it was written and read again."""
    job = read_job(job_of(unit, **line))
    return job, read_job(write_job(job))


def figures(done):
    return {figure.key: figure.value for figure in done.part}


def same_part(inch, metric):
    """Assert that two lines, worked out from files in two units, are one and the same."""
    assert figures(metric) == {
        key: value if isinstance(value, int) else pytest.approx(value) for key, value in figures(inch).items()
    }
    assert [(blank.size, blank.qty) for blank in metric.blanks] == [(blank.size, blank.qty) for blank in inch.blanks]
    for name in ("core_volume", "core_mass", "coat_area", "wire_length", "wire_minutes"):
        assert getattr(metric.quantities, name) == pytest.approx(getattr(inch.quantities, name))
