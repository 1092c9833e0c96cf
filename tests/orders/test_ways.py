"""The comparison of both ways of a line: kept with what it was worked out from, chosen only while that still holds."""

import pytest

from orders import entry, planning, ways
from orders.lines import shop_figures
from orders.models import Line
from shop import account
from shop.acts import Act
from shop.models import ShopRules, Station, StockPiece

BLOCK = (2_463_800, 1_244_600, 939_800)  # 97 × 49 × 37 in


@pytest.fixture
def line(draft):
    """The only line of a draft: eight pieces of 40 in of a stepped cornice."""
    return draft.lines.get()


def compared(line):
    """Compare both ways as the worker does, and return the line as it stands then."""
    ways.compare_in_worker.func(line.pk)
    return Line.objects.get(pk=line.pk)


def test_a_comparison_is_asked_for_made_and_found(line, django_capture_on_commit_callbacks):
    assert ways.compared(line).state == "none"
    with django_capture_on_commit_callbacks(execute=True):
        ways.ask(line)
    assert planning.is_anything_queued()
    assert ways.compared(line).state == "working"
    found = ways.compared(compared(line))
    assert found.state == "there"
    assert {found.said["each"]["name"], found.said["gang"]["name"]} == {"each", "gang"}
    assert sum(face.qty * face.gives for face in found.nest.faces) == 8


def test_a_comparison_without_a_worker_says_so(line, monkeypatch):
    monkeypatch.setattr(ways, "PATIENCE", ways.PATIENCE * 0)
    ways.ask(line)
    assert ways.compared(line).state == "nobody"


def test_a_comparison_of_other_figures_is_old_and_cannot_be_chosen(draft, line, mina, refused):
    line = compared(line)
    ShopRules.objects.update(price_hour=99)
    assert ways.compared(line).state == "old"
    refused("ways-old", ways.choose, draft, line, "gang", mina, version=draft.version)
    refused("no-way", ways.choose, draft, line, "both", mina, version=draft.version)


def test_a_way_is_chosen_and_left_again(order, mina, refused):
    line = compared(order.lines.get())
    saved = ways.choose(order, line, "gang", mina, version=order.version)
    assert (saved.way, saved.order.revision) == ("gang", 2)
    refused("changed-meanwhile", ways.choose, order, line, "each", mina, version=order.version)
    back = ways.choose(saved.order, saved, "each", mina, version=saved.order.version)
    assert (back.way, back.order.revision) == ("each", 3)
    assert [(row.qty, row.gives) for row in back.blanks.filter(live=True)] == [(8, 1)]


def test_a_copy_of_a_line_is_cut_the_same_way(draft, line, mina):
    saved = ways.choose(draft, compared(line), "gang", mina, version=draft.version)
    copy = entry.copy_line(saved.order, saved, mina, version=saved.order.version)
    assert copy.way == "gang"


def test_a_panel_has_only_one_way(draft, line, mina, refused):
    spec = {"size": [24, 24, 2]}
    panel = entry.save_line(draft, {"kind": "panel", "spec": spec}, mina, version=draft.version, line=line)
    refused("not-straight", ways.ask, panel)
    ways.compare_in_worker.func(panel.pk)
    assert "compared" not in Line.objects.get(pk=panel.pk).gang


@pytest.fixture
def block(line, shop):
    return account.receive("K-0001", line.grade, BLOCK, Act(shop.people["raf"]))


def rest_of(block, tag="R-0001"):
    return StockPiece.objects.create(
        tag=tag, grade=block.grade, parent=block, l_um=1_200_000, w_um=700_000, h_um=400_000
    )  # fmt: skip


def test_what_stands_on_the_rack_is_compared_and_the_only_saw_says_its_reach(line, block):
    rest = rest_of(block)
    saw = Station.objects.get(kind="saw")
    saw.height, saw.travel, saw.kerf = 600, 2500, 2
    saw.save()
    supply = ways.supply_of(line, shop_figures())
    assert [size for size, _ in supply.remnants] == [rest.size_um]
    assert (supply.saw, supply.kerf) == ({"height": 600_000, "length": 2_500_000}, 2_000)


def test_of_several_saws_that_with_the_most_room_is_taken_or_the_one_that_is_named(line, refused):
    small = Station.objects.get(kind="saw")
    small.height, small.travel, small.kerf = 600, 2500, 2
    small.save()
    Station.objects.create(code="saw-9", name="Saw 9", kind="saw", height=1000, kerf=3)
    assert ways.saw_of(line).code == "saw-9"
    ways.ask(line, small.code)
    assert ways.supply_of(line, shop_figures()).saw == {"height": 600_000, "length": 2_500_000}
    assert compared(line).gang["compared"]["saw"] == small.name
    refused("no-saw", ways.ask, line, "saw-7")
    Station.objects.filter(pk=small.pk).update(active=False)
    assert ways.compared(Line.objects.get(pk=line.pk)).state == "old"
    assert ways.saw_of(line).code == "saw-9"


def test_a_comparison_is_old_as_soon_as_a_remnant_comes_or_goes_but_a_choice_stays(draft, line, block, mina):
    line = ways.choose(draft, compared(line), "gang", mina, version=draft.version)
    rest = rest_of(block)
    assert ways.compared(line).state == "old"
    assert Line.objects.get(pk=line.pk).way == "gang"
    rest.delete()
    assert ways.compared(line).state == "there"
