"""One line of a job, read as a file has it: worked out, in inches and in millimetres, written and read again."""

import json
from dataclasses import replace

import pytest

from cutsheets.cutlist import as_json, cut_list
from cutsheets.errors import CutsheetError
from cutsheets.files.job import read_job, write_job

PCF, KG_M3 = 1.0, 16.01846337396  # the same density


def job(line, unit="in", shop=None):
    """Return a job file of one line, marked A, of 1 lb/ft³ foam."""
    density = PCF if unit == "in" else KG_M3
    return {
        "format": "blockyard-job-1", "unit": unit, "grades": {"EPS": {"density": density}}, "shop": shop or {},
        "lines": [{"mark": "A", "grade": "EPS"} | line],
    }  # fmt: skip


def listed(line, unit="in", shop=None):
    """Return the line as the cut list writes it."""
    read = read_job(job(line, unit, shop))
    return as_json(read, cut_list(read))["lines"][0]


def worked(line, unit="in", shop=None):
    return cut_list(read_job(job(line, unit, shop)))[0]


def refusal(line, unit="in"):
    """Return code and place of the refusal, the place inside the line."""
    with pytest.raises(CutsheetError) as caught:
        read_job(job(line, unit))
    assert caught.value.message.rstrip(")").endswith("."), "a sentence"
    return caught.value.code, caught.value.where.removeprefix("lines[0]").removeprefix(".")


def check_both_units(inches, millimetres):
    """Check that both lines are the same part: the metric job, written in inches, is the other one."""
    metric = read_job(job(millimetres, "mm"))
    assert listed(millimetres, "mm")["blanks"][0]["l"] == pytest.approx(25.4 * listed(inches)["blanks"][0]["l"])
    in_inches = as_json(replace(metric, unit="in"), cut_list(metric))["lines"][0]
    _alike(in_inches, listed(inches), "")


def check_round_trip(line, unit):
    """Check that a line which is written and read again is the same line."""
    read = read_job(job(line, unit))
    assert read_job(json.loads(json.dumps(write_job(read)))) == read


def metric(value):
    """Return a shape in millimetres."""
    return [metric(one) for one in value] if isinstance(value, list) else round(value * 25.4, 6)


def _alike(a, b, place):
    if isinstance(a, dict):
        assert a.keys() == b.keys(), place
        for name in a.keys() - {"notes"}:  # a note says its lengths in the unit of the job
            _alike(a[name], b[name], f"{place}.{name}")
    elif isinstance(a, list):
        assert len(a) == len(b), place
        for one, other in zip(a, b, strict=True):
            _alike(one, other, place)
    elif isinstance(a, float):
        assert a == pytest.approx(b, rel=1e-7, abs=2e-6), place
    else:
        assert a == b, place
