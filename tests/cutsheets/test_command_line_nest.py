"""`python -m cutsheets nest` and `check` of nests: exit codes, refusals as one JSON line, no traceback."""

import json

import pytest

from cutsheets.__main__ import main
from tests.cutsheets.nest_faces import as_file


@pytest.fixture
def files(tmp_path):
    """Return a function that writes a file and returns its path."""

    def write(content, name="instance.json"):
        path = tmp_path / name
        path.write_text(json.dumps(content))
        return str(path)

    return write


def test_a_nest_is_written_and_passes_its_own_check(files, tmp_path, capsys):
    out = str(tmp_path / "nest.json")
    assert main(["nest", files(as_file()), "--seconds", "1", "--out", out]) == 0
    assert "1 faces" in capsys.readouterr().err
    assert main(["check", files(as_file()), out]) == 0
    assert json.loads(capsys.readouterr().out)["valid"]


def test_a_nest_with_a_part_moved_is_found_wrong(files, tmp_path, capsys):
    out = tmp_path / "nest.json"
    assert main(["nest", files(as_file()), "--seconds", "0", "--out", str(out)]) == 0
    answer = json.loads(out.read_text())
    answer["placements"][0]["x"] += 30
    assert main(["check", files(as_file()), files(answer, "moved.json")]) == 1
    assert json.loads(capsys.readouterr().out)["faults"][0]["code"] == "outside"


def test_a_part_that_fits_no_face_is_left_out_by_name(files, capsys):
    content = as_file()
    content["items"].append({"id": "HUGE", "polygon": [[0, 0], [50, 0], [50, 50]], "qty": 2})
    assert main(["nest", files(content), "--seconds", "0"]) == 3
    assert json.loads(capsys.readouterr().out)["left_out"] == [{"item": "HUGE", "qty": 2, "why": "fits-nothing"}]


def test_a_bad_instance_is_refused_and_nothing_is_written(files, tmp_path, capsys):
    out = tmp_path / "nest.json"
    assert main(["nest", files(as_file(kerf=-1)), "--out", str(out)]) == 2
    assert json.loads(capsys.readouterr().err.splitlines()[-1])["where"] == "kerf"
    assert not out.exists()


def test_what_is_left_out_is_said_one_line_each_and_the_rest_is_counted(files, capsys):
    huge = [{"id": f"HUGE {n}", "polygon": [[0, 0], [50, 0], [50, 50]], "qty": 2} for n in range(22)]
    assert main(["nest", files(as_file() | {"items": huge}), "--seconds", "0"]) == 3
    said = [line for line in capsys.readouterr().err.splitlines() if "faces for" not in line]
    assert said == [*(f"left out: 2 × HUGE {n} (fits-nothing)" for n in range(20)), "and 2 more"]


def test_a_place_that_cannot_be_written_is_refused_before_the_search(files, capsys, tmp_path, monkeypatch):
    monkeypatch.setattr("cutsheets.nesting.commands.nest", lambda *_, **__: pytest.fail("the search began"))
    assert main(["nest", files(as_file()), "--out", str(tmp_path / "nowhere" / "nest.json")]) == 2
    assert json.loads(capsys.readouterr().err.splitlines()[-1])["code"] == "file"


@pytest.mark.parametrize("seconds", ["-1", "nan", "99999"])
def test_a_time_beyond_reason_is_refused(files, capsys, seconds):
    assert main(["nest", files(as_file()), "--seconds", seconds]) == 2
    assert json.loads(capsys.readouterr().err.splitlines()[-1])["code"] == "seconds"
