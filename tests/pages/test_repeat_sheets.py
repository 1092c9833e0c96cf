"""Repeat sheets: printed from the library, and the order line that begins when one comes back to the office."""

import pytest

from cutsheets.codes import make_profile_code
from orders import profiles
from orders.models import Order, Print, ProfileRevision
from tests.cutsheets.paper_reader import codes, document
from tests.cutsheets.paper_reader import words as text_of

DEEPER = {"section": [[0, 0], [2, 0], [2, 4.25], [2.5, 4.5], [2.5, 5.25], [0, 5.25]], "bare": "wall"}


@pytest.fixture
def first(shop):
    """Revision A of TP-22."""
    return shop.profiles["TP-22"]


@pytest.fixture
def newer(shop, first, mina):
    return profiles.revise(first.profile, {"unit": "in", "shape": DEEPER, "source": {"way": "points"}}, mina)


def scan(client, revision, **on):
    """Scan a repeat sheet into the find field, and return the page that comes."""
    code = make_profile_code(revision.profile.pk, revision.letter)
    return client.get("/orders/", {"q": code, **on}, follow=True)


def test_the_sheet_carries_the_code_of_its_revision_and_is_kept(office, first):
    answer = office.post("/profiles/TP-22/1/repeat-sheet/")
    [page] = document(answer.content)
    assert {code.text for code in codes(page, 300)} == {make_profile_code(first.profile.pk, "A")}
    kept = Print.objects.get()
    assert (kept.sheet, kept.of, kept.revision, kept.number) == ("repeat", "TP-22", 1, 1)
    assert "reprint 2" in text_of(office.post("/profiles/TP-22/1/repeat-sheet/").content)[0]


def test_every_profile_of_the_shop_has_its_sheet(office, shop):
    for revision in ProfileRevision.objects.select_related("profile"):
        answer = office.post(f"/profiles/{revision.profile.code}/{revision.number}/repeat-sheet/")
        [text] = text_of(answer.content)
        assert revision.profile.name in text
        assert "Never cut to this" in text


def test_on_an_open_order_a_scan_opens_a_new_line_with_the_profile_chosen(office, draft, first):
    answer = scan(office, first, on=draft.number)
    assert answer.request["PATH_INFO"] == f"/orders/{draft.number}/lines/new/"
    form = answer.context["form"]
    assert (form["kind"].value(), form.part["profile"].value()) == ("moulding", first.pk)
    assert form["grade"].value() == first.grade_id
    assert not draft.lines.filter(profile=first).exists()


def test_the_page_of_an_order_says_to_the_find_field_which_order_it_is(office, draft):
    page = office.get(f"/orders/{draft.number}/").content.decode()
    assert f'name="on" value="{draft.number}"' in page
    assert 'name="on"' not in office.get("/profiles/").content.decode()


def test_elsewhere_a_scan_asks_for_which_order_or_a_new_one(office, draft, first, words):
    answer = scan(office, first)
    assert "for which order?" in words(answer)
    page = answer.content.decode()
    assert f"/orders/{draft.number}/lines/new/?profile={first.pk}" in page
    assert f"/orders/new/?profile={first.pk}" in page


def test_a_new_order_goes_on_with_a_line_of_the_profile(office, shop, first):
    head = {"customer": shop.customer.name, "job": "Porch", "unit": "in"}
    answer = office.post(f"/orders/new/?profile={first.pk}", head)
    assert answer.url == f"/orders/{Order.objects.latest('pk').number}/lines/new/?profile={first.pk}"


def test_a_cancelled_order_takes_no_line(office, draft, first, words):
    Order.objects.filter(pk=draft.pk).update(state=Order.State.CANCELLED)
    answer = scan(office, first, on=draft.number)
    assert "for which order?" in words(answer)
    assert f"/orders/{draft.number}/lines/new/" not in answer.content.decode()


def test_an_older_revision_says_so_and_asks_which(office, draft, first, newer, words):
    answer = scan(office, first, on=draft.number)
    assert "Revision B is newer" in words(answer)
    page = answer.content.decode()
    assert f"/profiles/TP-22/2/order-again/?on={draft.number}" in page
    taken = office.get(f"/profiles/TP-22/2/order-again/?on={draft.number}", follow=True)
    assert taken.context["form"].part["profile"].value() == newer.pk


def test_the_older_revision_may_be_stayed_with_and_saved(office, draft, first, newer, typed):
    answer = office.get(f"/profiles/TP-22/1/order-again/?old&on={draft.number}", follow=True)
    assert answer.context["form"].part["profile"].value() == first.pk
    address = f"/orders/{draft.number}/lines/new/?profile={first.pk}"
    data = typed | {"mark": "Z", "profile": first.pk, "version": Order.objects.get(pk=draft.pk).version}
    assert office.post(address, data).status_code == 302
    assert draft.lines.get(mark="Z").profile == first


@pytest.mark.parametrize(("number", "letter"), [(987_654, "A"), (0, "F")])
def test_a_profile_or_a_revision_that_is_not_there_is_not_found(office, first, number, letter):
    code = make_profile_code(number or first.profile.pk, letter)
    assert office.get("/orders/", {"q": code}).status_code == 404


def test_a_damaged_code_begins_nothing(office, first):
    code = make_profile_code(first.profile.pk, "A")
    wrong = code[:-1] + ("1" if code[-1] != "1" else "2")
    assert office.get("/orders/", {"q": wrong}).status_code == 200
    assert Order.objects.count() == 0


def test_a_station_refuses_a_repeat_sheet_with_words(floor, first, words):
    code = make_profile_code(first.profile.pk, "A")
    answer = floor.post("/station/saw-1/scan/", {"raw": code})
    assert answer.status_code == 409
    assert "This is the repeat sheet of profile TP-22; it is for the office." in words(answer)
