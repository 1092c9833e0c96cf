import sys
import threading
import time

import pytest

from cutsheets.errors import CutsheetError
from cutsheets.files import limits
from cutsheets.files.dxf import read_dxf, write_dxf
from cutsheets.files.limits import read_drawing
from cutsheets.files.svg import read_svg
from cutsheets.solids import Outline
from tests.cutsheets.drawing_files import rectangle, svg

SHAPE = [Outline(rectangle(0.0, 0.0, 100.0, 50.0), (rectangle(10.0, 10.0, 20.0, 20.0)[::-1],))]
OPEN = svg('<rect width="9" height="9"/><path d="M20 20L30 30"/><text>A</text>')
FAR = "".join(f"L{i % 300} {i // 300}" for i in range(190_000))
SLOW = svg(f'<path d="M0 0{FAR}"/>')  # just within the limits, seconds to read


def refusal(name, data, **options):
    with pytest.raises(CutsheetError) as caught:
        read_drawing(name, data, **options)
    return caught.value


def test_another_process_reads_what_this_one_would():
    data = write_dxf(SHAPE, "in")
    assert read_drawing("sill.dxf", data) == read_dxf(data)
    assert read_drawing("sill.svg", OPEN, unit="in", chord=0.1) == read_svg(OPEN, unit="in", chord=0.1)


def test_the_content_decides_and_not_the_name():
    assert read_drawing("sill.dxf", OPEN) == read_svg(OPEN)
    assert read_drawing("", b"\xef\xbb\xbf" + OPEN) == read_svg(OPEN)


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("plan.dwg", b"AC1032\0\0", "drawing-kind"),
        ("plan.pdf", b"%PDF-1.7", "drawing-kind"),
        ("empty.dxf", b"", "drawing-kind"),
        ("zipped.svg", b"\x1f\x8b\x08\0", "drawing-kind"),
        ("large.dxf", b"0" * 10_000_001, "drawing-size"),
        ("page.svg", b"<html></html>", "drawing-kind"),
        ("broken.dxf", b"0\nSECTION\n2\nENTITIES\n0\nLINE\n", "drawing-broken"),
        ("binary.dxf", b"AutoCAD Binary DXF\r\n\x1a\0", "drawing-kind"),
        ("pixels.svg", svg("", size=""), "drawing-unit"),
    ],
)
def test_other_files_are_refused_by_name(name, data, code):
    assert refusal(name, data).code == code


@pytest.mark.parametrize("value", [0, -1, float("nan"), float("inf"), 1e9])
def test_tolerances_beyond_reason_are_refused(value):
    assert refusal("a.svg", OPEN, tolerance=value).code == "drawing-tolerance"
    assert refusal("a.svg", OPEN, chord=value).code == "drawing-tolerance"


def test_a_drawing_that_takes_too_long_is_stopped():
    start = time.monotonic()
    assert refusal("slow.svg", SLOW, seconds=0.5).code == "drawing-time"
    assert time.monotonic() - start < 3


def test_a_drawing_that_takes_too_much_memory_is_stopped(monkeypatch):
    monkeypatch.setattr(limits, "MEMORY", 60_000_000)
    assert refusal("a.svg", OPEN).code in ("drawing-size", "drawing-broken")


def test_a_reader_that_dies_is_a_refusal(monkeypatch, tmp_path):
    fake = tmp_path / "python"
    fake.write_text("#!/bin/sh\nkill -9 $$\n")
    fake.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(fake))
    assert refusal("a.svg", OPEN).code == "drawing-broken"


def test_the_reader_sees_nothing_of_the_servers_environment(monkeypatch, tmp_path):
    fake = tmp_path / "python"
    fake.write_text(f"#!/bin/sh\nenv > {tmp_path}/seen\n")
    fake.chmod(0o755)
    monkeypatch.setattr(sys, "executable", str(fake))
    monkeypatch.setenv("DJANGO_SECRET_KEY", "invented")
    refusal("a.svg", OPEN)
    assert "invented" not in (tmp_path / "seen").read_text()


def test_several_threads_read_at_once():
    found = []
    threads = [threading.Thread(target=lambda: found.append(read_drawing("a.svg", OPEN))) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == [read_svg(OPEN)] * 4
