"""A profile drawn anew: said on the order, in the list, at the station and on paper, until the office takes it over."""

import pypdfium2
import pytest
from floor_shop import plan_for

from cutsheets.codes import make_sheet_code
from orders import profiles
from orders.models import Blank, Order

DEEPER = {"section": [[0, 0], [1.5, 0], [2, 0.5], [2, 4.25], [2.5, 4.5], [2.5, 5.25], [0, 5.25]], "bare": "wall"}
SENTENCE = "Profile TP-22 rev A; rev B is newer. Cut what the sheet says; the office gives out the next one."


@pytest.fixture
def drawn_anew(shop, mina):
    """Draw revision B of TP-22."""
    revision = {"unit": "in", "shape": DEEPER, "source": {"way": "points"}}
    return profiles.revise(shop.profiles["TP-22"].profile, revision, mina)


def take(client, order, version=None):
    line = order.lines.get()
    version = order.version if version is None else version
    return client.post(f"/orders/{order.number}/lines/{line.pk}/newest/", {"version": version}, follow=True)


def scanned(floor, order, station="saw-1", letter="A"):
    code = make_sheet_code(order.number, letter)
    return floor.post(f"/station/{station}/scan/", {"raw": code}, follow=True)


def test_nothing_is_said_while_the_revision_is_the_newest(office, floor, shop, order, words):
    said = words(office.get(f"/orders/{order.number}/")) + words(office.get("/")) + words(scanned(floor, order))
    assert "newer" not in said
    assert "older profile" not in said


def test_the_order_and_the_list_say_so_with_one_act_a_line(office, order, drawn_anew, words):
    said = words(office.get(f"/orders/{order.number}/"))
    assert "TP-22 rev B is newer Take revision B" in said
    assert "older profile" in words(office.get("/"))


def test_the_floor_sees_it_but_has_no_act(floor, order, drawn_anew, words):
    said = words(floor.get(f"/orders/{order.number}/"))
    assert "rev B is newer" in said
    assert "Take revision B" not in said


@pytest.mark.parametrize("station", ["saw-1", "cutter-1"])
def test_a_station_is_told_in_a_sentence_and_goes_on(floor, shop, order, drawn_anew, words, station):
    plan_for(shop, order)
    Blank.objects.update(sawn=1)
    answer = scanned(floor, order, station)
    assert SENTENCE in words(answer)
    assert "act" in answer.context


def test_a_reprinted_traveller_says_so(office, order, drawn_anew):
    pdf = office.post(f"/orders/{order.number}/traveller/").content
    text = " ".join(pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range().split())
    assert "TP-22 rev A; rev B is newer" in text


def test_taking_it_over_gives_out_the_next_sheet_and_old_paper_is_refused(office, floor, order, drawn_anew, words):
    said = words(take(office, order))
    assert "Line A has TP-22 rev B now; sheet B is in force." in said
    assert "is newer" not in said
    assert "Tear it up" in words(scanned(floor, order))
    assert Order.objects.get().revision == 2


def test_a_page_that_is_older_than_the_order_takes_nothing_over(office, order, drawn_anew, words):
    answer = take(office, order, version=order.version - 1)
    assert answer.status_code == 409
    assert order.lines.get().profile.number == 1


def test_a_revision_that_cannot_be_cut_is_not_taken_over(office, shop, order, mina, words):
    thin = {"section": [[0, 0], [0.2, 0], [0.2, 5], [0, 5]], "bare": "none"}
    profiles.revise(
        shop.profiles["TP-22"].profile, {"unit": "in", "shape": thin, "source": {"way": "points"}}, mina
    )  # fmt: skip
    answer = take(office, order)
    assert answer.status_code == 409
    assert "thinner coat" in words(answer)
    assert order.lines.get().profile.number == 1
