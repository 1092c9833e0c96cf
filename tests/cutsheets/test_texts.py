"""Writing what a command answers: a place is tried first, and a file holds the old answer or the whole new one."""

import os
import resource

import pytest

from cutsheets.errors import CutsheetError
from cutsheets.files.texts import try_to_write, write_text


@pytest.fixture
def full_disk():
    """Let no file grow beyond a hundred bytes, as if the disk were full."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100, hard))
    yield
    resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def refusal(call, *given):
    with pytest.raises(CutsheetError) as caught:
        call(*given)
    return caught.value


def test_a_text_is_written_and_written_over(tmp_path):
    for text in ("first", "second, 漢"):
        write_text(text, str(tmp_path / "plan.json"))
        assert (tmp_path / "plan.json").read_text(encoding="utf-8") == text
    assert os.listdir(tmp_path) == ["plan.json"]


def test_a_disk_that_gets_full_leaves_the_old_answer_and_nothing_else(tmp_path, full_disk):
    out = tmp_path / "plan.json"
    out.write_text("the old answer")
    assert refusal(write_text, "x" * 1000, str(out)).code == "file"
    assert out.read_text() == "the old answer"
    assert os.listdir(tmp_path) == ["plan.json"]


def test_a_new_answer_keeps_who_may_read_the_old_one(tmp_path):
    out = tmp_path / "plan.json"
    out.write_text("the old answer")
    out.chmod(0o640)
    write_text("the new answer", str(out))
    assert out.stat().st_mode & 0o777 == 0o640


def test_a_link_still_leads_to_the_file_that_is_written(tmp_path):
    (tmp_path / "link.json").symlink_to(tmp_path / "plan.json")
    write_text("answer", str(tmp_path / "link.json"))
    assert (tmp_path / "link.json").is_symlink()
    assert (tmp_path / "plan.json").read_text() == "answer"


def test_what_is_no_file_is_written_to_as_it_is():
    try_to_write(os.devnull)
    write_text("answer", os.devnull)
    assert not os.path.isfile(os.devnull)


def test_trying_leaves_the_old_answer_or_no_file_at_all(tmp_path):
    out = tmp_path / "plan.json"
    try_to_write(str(out))
    assert os.listdir(tmp_path) == []
    out.write_text("the old answer")
    try_to_write(str(out))
    assert out.read_text() == "the old answer"


@pytest.mark.parametrize("place", ["", "\0", "nowhere/plan.json", ".", "x" * 300, "plan.json/plan.json"])
def test_a_place_that_cannot_be_written_is_refused_with_its_name(tmp_path, monkeypatch, place):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "plan.json").write_text("the old answer")
    for refused in (refusal(try_to_write, place), refusal(write_text, "answer", place)):
        assert refused.code == "file"
        assert f"“{place}” cannot be written" in refused.message
    assert os.listdir(tmp_path) == ["plan.json"]
