"""Badges and PINs from the manager's desk: printed, set, and read by nobody."""

import pytest
from django.utils import timezone

from cutsheets.codes import BadgeCode, read_code
from orders.models import Print
from shop import badges
from shop.models import Person
from shop.refusals import Refused
from tests.cutsheets.paper_reader import codes, document
from tests.cutsheets.paper_reader import words as printed_words


def print_badges(client, *people, grid="a4-2x5", start=1):
    return client.post("/shop/badges/", {"person": [person.pk for person in people], "grid": grid, "start": start})


def secrets_on(paper):
    scanned = [read_code(code.text) for page in document(paper) for code in codes(page, 300)]
    assert all(isinstance(code, BadgeCode) for code in scanned)
    return [code.secret for code in scanned]


# Badges ---------------------------------------------------------------------------------------------------------------


def test_a_printed_badge_is_the_persons(shop, manager):
    bo, raf = shop.people["bo"], shop.people["raf"]
    answer = print_badges(manager, bo, raf)
    assert answer.headers["Content-Type"] == "application/pdf"
    assert {badges.person_of(secret) for secret in secrets_on(answer.content)} == {bo, raf}
    [text] = printed_words(answer.content)
    assert "Bo Lindqvist" in text
    assert "Tern Point Foam Works" in text


def test_no_browser_keeps_the_paper_of_a_badge(shop, manager):
    assert print_badges(manager, shop.people["bo"]).headers["Cache-Control"] == "no-store"


def test_printing_again_voids_the_old_badge_and_no_other(shop, manager):
    bo, raf = shop.people["bo"], shop.people["raf"]
    [old] = secrets_on(print_badges(manager, bo).content)
    [other] = secrets_on(print_badges(manager, raf).content)
    [new] = secrets_on(print_badges(manager, bo).content)
    assert badges.person_of(new) == bo
    assert badges.person_of(other) == raf
    with pytest.raises(Refused) as refused:
        badges.person_of(old)
    assert refused.value.code == "badge-void"


def test_every_badge_is_a_print_with_its_number_and_a_new_one_voids_the_old(shop, manager, words):
    bo, raf = shop.people["bo"], shop.people["raf"]
    for people in ((bo, raf), (bo,)):
        print_badges(manager, *people)
    rows = Print.objects.filter(sheet=Print.Sheet.BADGE)
    assert [(row.of, row.number, row.by) for row in rows] == [
        (str(bo.pk), 1, raf), (str(raf.pk), 1, raf), (str(bo.pk), 2, raf),
    ]  # fmt: skip
    listed = words(manager.get("/prints/"))
    for row in ("badge Bo Lindqvist 2 Raf A. in force", "badge Raf Almeida 1 Raf A. in force"):
        assert row in listed
    assert "badge Bo Lindqvist 1 Raf A. void" in listed


def test_a_badge_of_somebody_who_left_is_void(shop, manager, words):
    print_badges(manager, shop.people["bo"])
    Person.objects.filter(username="bo").update(is_active=False)
    assert "badge Bo Lindqvist 1 Raf A. void" in words(manager.get("/prints/"))


@pytest.mark.parametrize("wrong", [{"grid": "letter-3x10"}, {"grid": "x"}, {"start": 11}, {"start": "x"}, {"start": 0}])
def test_a_badge_that_cannot_be_printed_leaves_the_old_one_good(shop, manager, wrong):
    bo = shop.people["bo"]
    [old] = secrets_on(print_badges(manager, bo).content)
    assert print_badges(manager, bo, **wrong).status_code == 422
    assert badges.person_of(old) == bo
    assert Print.objects.count() == 1


@pytest.mark.parametrize("chosen", [[], ["mina"]])
def test_only_people_of_the_floor_get_a_badge(shop, manager, words, chosen):
    answer = print_badges(manager, *(shop.people[name] for name in chosen))
    assert answer.status_code == 422
    assert "Choose whose badge is to be printed." in words(answer)
    assert "Mina" not in words(answer)


def test_the_page_says_who_has_what_but_neither_badge_nor_pin(shop, manager, words):
    badges.set_pin(shop.people["bo"], "4718")
    secret = badges.new_badge(shop.people["bo"], timezone.now())[2:10]
    page = manager.get("/shop/badges/")
    assert "Bo Lindqvist Floor printed" in words(page)
    assert secret not in page.content.decode()
    assert Person.objects.get(username="bo").pin not in page.content.decode()


def test_a_secret_has_eight_signs_of_the_alphabet_and_none_comes_twice():
    made = {badges.new_secret() for _ in range(2000)}
    assert len(made) == 2000
    assert {len(secret) for secret in made} == {8}


# PINs -----------------------------------------------------------------------------------------------------------------


def set_pin(client, person, pin):
    return client.post(f"/shop/badges/{person.pk}/pin/", {"pin": pin})


def test_the_manager_sets_a_pin_of_which_only_a_hash_is_kept(shop, manager):
    bo = shop.people["bo"]
    assert set_pin(manager, bo, "4718").status_code == 302
    bo.refresh_from_db()
    assert badges.has_pin(bo, "4718")
    assert "4718" not in bo.pin


@pytest.mark.parametrize(
    "pin",
    ["1234", "4321", "0000", "99999999", "3456", "6789", "0123456", "87654", "1212", "474747", "123123", "20262026"],
)
def test_a_pin_that_everybody_would_guess_is_refused(shop, manager, words, pin):
    answer = set_pin(manager, shop.people["bo"], pin)
    assert answer.status_code == 422
    assert "too easy to guess" in words(answer)
    assert Person.objects.get(username="bo").pin == ""


@pytest.mark.parametrize("pin", ["", "471", "471812345", "47a8", "４７１８", "47 18", "4718\x00", "-471", "4.71"])
def test_what_is_no_pin_is_refused(shop, manager, pin):
    assert set_pin(manager, shop.people["bo"], pin).status_code == 422
    assert Person.objects.get(username="bo").pin == ""


@pytest.mark.parametrize("pin", ["4718", "9035", "1235", "80808", "12341", "90817263"])
def test_other_pins_are_taken(shop, manager, pin):
    assert set_pin(manager, shop.people["bo"], pin).status_code == 302


def test_a_person_without_a_pin_is_named_by_no_pin(shop):
    assert not badges.has_pin(shop.people["bo"], "")
    assert not badges.has_pin(shop.people["bo"], "4718")
