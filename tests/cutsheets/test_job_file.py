import json
from contextlib import suppress
from copy import deepcopy
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cutsheets.errors import CutsheetError
from cutsheets.files.job import JobFaults, line_from_dict, read_job, write_job
from cutsheets.rules import Rules
from cutsheets.solids import Box, End
from cutsheets.units import MM_PER_INCH

IN = float(MM_PER_INCH)
STEPPED = [[0, 0], [2, 0], [2, 3], [5, 3], [5, 6], [8, 6], [8, 9], [0, 9]]
RUN = {"name": "north", "wall": "31'-4\"", "left": {"outside": 90}, "right": {"inside": 120}, "qty": 2}
CORNICE = {
    "mark": "A", "kind": "moulding", "grade": "EPS 1.0", "qty": 1, "coat": "1/8", "note": "front",
    "section": STEPPED, "runs": [RUN],
}  # fmt: skip
PANEL = {"mark": "B", "kind": "panel", "grade": "EPS 1.5", "size": [48, "24 in", "6"]}
JOB = {
    "format": "blockyard-job-1", "unit": "in", "customer": "Osgood & Lyle Builders", "job": "Wickett Library porch",
    "due": "2027-03-12", "grades": {"EPS 1.0": {"density": 1.0}, "EPS 1.5": {"density": 1.5}},
    "shop": {"kerf": "1/16", "skim": "1/4", "end_trim": "1/2", "blank_step": 0, "longest_stick": 96,
             "shortest_piece": 24, "block": [97, 48, 36]},
    "lines": [CORNICE, PANEL],
}  # fmt: skip


def faults(source, **more):
    with pytest.raises(JobFaults) as caught:
        read_job(source, **more)
    return [(fault.code, fault.where) for fault in caught.value.faults]


def changed(**keys):
    return deepcopy(JOB) | keys


def test_a_job_is_read_into_millimetres():
    job = read_job(json.dumps(JOB))
    assert (job.unit, job.customer, job.due) == ("in", "Osgood & Lyle Builders", date(2027, 3, 12))
    assert job.grades["EPS 1.5"] == pytest.approx(24.0277, abs=1e-4)
    assert job.rules.block == Box(2463.8, 1219.2, 914.4)
    cornice, panel = job.lines
    assert (cornice.coat, cornice.note, cornice.density) == (3.175, "front", pytest.approx(16.018463))
    assert cornice.spec.lengths.runs[0].wall == pytest.approx(376 * IN)
    assert (cornice.spec.lengths.runs[0].left, cornice.spec.lengths.runs[0].qty) == (End("outside", 90), 2)
    assert (panel.qty, panel.rules.end_trim) == (1, 0)


def test_the_shops_own_figures_and_grades_serve_where_the_file_has_none():
    bare = {name: value for name, value in JOB.items() if name not in ("shop", "grades", "due", "customer", "job")}
    job = read_job(bare, Rules(end_trim=7), grades={"EPS 1.0": 16.0, "EPS 1.5": 24.0})
    assert (job.lines[0].rules.end_trim, job.lines[0].density, job.due) == (7, 16.0, None)


def test_a_job_written_and_read_back_is_the_same_job():
    job = read_job(JOB)
    assert read_job(json.dumps(write_job(job))) == job


@given(
    st.integers(1, 10**8), st.integers(2 * 10**5, 10**9), st.sampled_from(["in", "mm"]),
    st.sampled_from(["cap", "square", "splice", {"outside": 90}, {"inside": 112.5}]), st.booleans(),
)  # fmt: skip
def test_any_kept_size_survives_being_written_in_either_unit(skim, wall, unit, end, turned):
    # identity: changing units and back changes no stored value; sizes here are whole nanometres
    scale = {"in": 1, "mm": 25}[unit]
    section = [[x * scale, y * scale] for x, y in (STEPPED[::-1] if turned else STEPPED)]
    run = {"wall": f"{wall / 10**6 + 250:.6f} mm", "left": end, "right": "square"}
    allow = {"skim": {"wall": f"{skim / 10**6:.6f} mm"}}
    line = CORNICE | {"coat": 0.125, "section": section, "runs": [run], "allow": allow}
    job = read_job(changed(lines=[line], unit=unit) | ({"shop": {}} if unit == "mm" else {}))
    assert read_job(write_job(job)) == job


def places(value, path=()):
    """Yield the path of every value in a job, however deep."""
    yield path
    children = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, child in children:
        yield from places(child, (*path, key))


STRANGE = [
    None,
    True,
    -1,
    0,
    1e-9,
    1e308,
    float("nan"),
    "",
    "0",
    "\0",
    "½",
    "x" * 999,
    [],
    [[]],
    {},
    {"": 1},
    [None] * 3,
]


@given(st.sampled_from(list(places(JOB))[1:]), st.sampled_from(STRANGE))
def test_whatever_stands_in_a_job_it_is_read_or_refused(path, strange):
    job = deepcopy(JOB)
    holder = job
    for key in path[:-1]:
        holder = holder[key]
    holder[path[-1]] = strange
    with suppress(JobFaults):
        assert read_job(job).lines
    with suppress(JobFaults):
        assert read_job(json.dumps(job)).lines


def test_every_bad_line_is_named_at_once():
    lines = [PANEL | {"mark": f"P{i}"} for i in range(60)]
    lines[39] = lines[39] | {"size": [48, "5.1/2", 6]}
    lines[51] = CORNICE | {"mark": "P51", "coat": "1", "section": [[0, 0], [1, 0], [1, 6], [0, 6]]}
    assert faults(changed(lines=lines, due="12 March")) == [
        ("date", "due"), ("length-ambiguous", "lines[39].size[1]"), ("coat-swallows-edge", "lines[51].section"),
    ]  # fmt: skip


def test_the_refusal_speaks_of_the_first_fault_and_counts_the_others():
    with pytest.raises(JobFaults) as caught:
        read_job(changed(lines=[PANEL | {"size": 5}, CORNICE | {"qty": 0}]))
    assert (caught.value.code, caught.value.where) == ("not-a-list", "lines[0].size")
    assert caught.value.message.endswith("(and 1 more)")
    assert [fault["where"] for fault in caught.value.as_dict()["faults"]] == ["lines[0].size", "lines[1].qty"]


@pytest.mark.parametrize(("change", "fault"), [
    ({"format": "blockyard-job-2"}, ("format", "format")),
    ({"unit": "cm"}, ("unit", "unit")),
    ({"color": "red"}, ("unknown-key", "")),
    ({"lines": []}, ("list-size", "lines")),
    ({"lines": {}}, ("not-a-list", "lines")),
    ({"lines": [5]}, ("not-an-object", "lines[0]")),
    ({"lines": [{"mark": "A"}]}, ("missing-key", "lines[0]")),
    ({"lines": [PANEL | {"kind": "gargoyle"}]}, ("kind", "lines[0].kind")),
    ({"lines": [PANEL | {"kind": ["panel"]}]}, ("kind", "lines[0].kind")),
    ({"lines": [PANEL | {"grade": "EPS 9"}]}, ("grade", "lines[0].grade")),
    ({"lines": [PANEL | {"mark": " "}]}, ("text", "lines[0].mark")),
    ({"lines": [PANEL | {"mark": 7}]}, ("text", "lines[0].mark")),
    ({"lines": [PANEL | {"wide": 7}]}, ("unknown-key", "lines[0]")),
    ({"lines": [PANEL, PANEL]}, ("mark-twice", "lines[1].mark")),
    ({"lines": [PANEL | {"allow": {"skin": 1}}]}, ("unknown-key", "lines[0].allow")),
    ({"lines": [PANEL | {"qty": float("nan")}]}, ("count", "lines[0].qty")),
    ({"lines": [CORNICE | {"coat": float("inf")}]}, ("length", "lines[0].coat")),
    ({"grades": {"EPS 1.0": {"density": 0}, "EPS 1.5": {"density": 1}}}, ("density", "grades[EPS 1.0]")),
    ({"grades": []}, ("not-an-object", "grades")),
    ({"shop": {"kerf": -1}}, ("length-negative", "shop.kerf")),
    ({"shop": {"longest_stick": 0}}, ("length-zero", "shop.longest_stick")),
    ({"shop": {"block": [97, 48]}}, ("list-size", "shop.block")),
    ({"shop": {"skim": [1]}}, ("length", "shop.skim")),
    ({"due": "2027-02-30"}, ("date", "due")),
    ({"due": 20270312}, ("date", "due")),
    ({"customer": "x" * 500}, ("text", "customer")),
])  # fmt: skip
def test_a_bad_job_is_refused_at_its_place(change, fault):
    assert fault in faults(changed(**change))


@pytest.mark.parametrize(("text", "code"), [
    ("", "json"), ("{", "json"), ("[1, 2]", "not-an-object"), ("[" * 200_000, "json"), ("9" * 5000, "json"),
    ('{"format": 0.' + "3" * 100 + "}", "json"), ("5", "not-an-object"),
])  # fmt: skip
def test_a_text_that_is_no_job_is_refused(text, code):
    assert faults(text) == [(code, "")]


def test_a_key_written_twice_is_refused_where_it_stands():
    text = json.dumps(JOB).replace('"coat": "1/8"', '"coat": "1/8", "coat": "1/4"')
    assert faults(text) == [("repeated-key", "lines[0]")]


def test_numbers_that_are_none_are_refused_where_they_stand():
    for bad in ("NaN", "-Infinity", "1e999999999", "-1e999999999", "1e400"):
        text = json.dumps(JOB).replace('"qty": 2', f'"qty": 2, "wall": {bad}').replace('"wall": "31\'-4\\"", ', "")
        assert faults(text) == [("length", "lines[0].runs[0].wall")], bad


def test_a_profile_of_the_shop_stands_in_for_a_section():
    line = {name: value for name, value in CORNICE.items() if name != "section"} | {"profile": "C-12"}
    metric = [[x * 25.4, y * 25.4] for x, y in STEPPED]
    profiles = {"C-12": {"section": metric, "bare": [7], "unit": "mm"}}
    read = line_from_dict(line, "in", Rules(), grades={"EPS 1.0": 16}, profiles=profiles)
    plain = line_from_dict(CORNICE, "in", Rules(), grades={"EPS 1.0": 16})
    assert read.spec.section == plain.spec.section


@pytest.mark.parametrize("more", [{"section": STEPPED}, {"profile": "D-1"}, {"profile": None}])
def test_a_profile_that_is_unknown_or_not_alone_is_refused(more):
    line = {name: value for name, value in CORNICE.items() if name != "section"} | {"profile": "C-12"} | more
    with pytest.raises(CutsheetError) as caught:
        line_from_dict(line, "in", Rules(), "lines[3]", grades={"EPS 1.0": 16}, profiles={"C-12": {"section": STEPPED}})
    assert caught.value.where == "lines[3].profile"
