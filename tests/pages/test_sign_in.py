"""Signing in: a name, a password, and a pause after too many wrong ones."""

import pytest

PASSWORD = "three blocks of foam"


@pytest.fixture
def mina(shop):
    person = shop.people["mina"]
    person.set_password(PASSWORD)
    person.save()
    return person


def sign_in(client, password, name="mina"):
    return client.post("/sign-in/", {"username": name, "password": password, "next": "/customers/"})


def test_a_name_and_its_password_open_the_page_that_was_asked_for(client, mina):
    assert sign_in(client, PASSWORD).headers["Location"] == "/customers/"
    assert client.get("/customers/").status_code == 200


def test_the_saw_hand_lands_at_the_stations_and_the_office_at_the_orders(client, mina, shop):
    bo = shop.people["bo"]
    bo.set_password(PASSWORD)
    bo.save()
    landed = {}
    for name in ("bo", "mina"):
        asked = client.get("/").headers["Location"]  # both type the shop's address alone
        answer = client.post(asked, {"username": name, "password": PASSWORD, "next": "/"})
        landed[name] = answer.headers["Location"]
        client.post("/sign-out/")
    assert landed == {"bo": "/station/", "mina": "/"}


def test_a_wrong_password_is_answered_with_what_to_check(client, mina):
    assert "do not belong together" in sign_in(client, "two blocks").content.decode()
    assert client.get("/customers/").status_code == 302


def test_after_five_wrong_passwords_the_page_says_how_long_to_wait(client, mina):
    answers = [sign_in(client, "two blocks") for _ in range(5)]
    assert [answer.status_code for answer in answers] == [200, 200, 200, 200, 429]
    assert "Wait 15 minutes" in answers[-1].content.decode()
    assert sign_in(client, PASSWORD).status_code == 429


def test_a_locked_name_does_not_lock_its_neighbour(client, mina, shop):
    for _ in range(5):
        sign_in(client, "two blocks")
    raf = shop.people["raf"]
    raf.set_password(PASSWORD)
    raf.save()
    assert sign_in(client, PASSWORD, "raf").status_code == 302


def test_signing_out_closes_the_pages(client, mina):
    sign_in(client, PASSWORD)
    client.post("/sign-out/")
    assert client.get("/orders/").headers["Location"].startswith("/sign-in/")


@pytest.mark.parametrize(
    ("came", "page"),
    [
        ("http://testserver/station/saw-1/?order=4182", "/station/saw-1/%3Forder%3D4182"),
        ("http://elsewhere.example/station/", "/"),
        ("", "/"),
    ],
)
def test_who_was_signed_out_before_a_press_comes_back_to_its_page(client, shop, came, page):
    answer = client.post("/station/saw-1/undo/", headers={"referer": came} if came else {})
    assert answer.headers["Location"] == f"/sign-in/?next={page}"


def test_a_page_that_is_not_there_says_how_to_find_things(office):
    answer = office.get("/nowhere/")
    assert answer.status_code == 404
    assert "Find it by its number" in answer.content.decode()


def test_pages_forbid_scripts_and_styles_of_others(client, shop):
    rule = client.get("/sign-in/").headers["Content-Security-Policy"]
    assert "script-src 'self'" in rule
    assert "style-src 'self'" in rule
    assert "unsafe" not in rule


@pytest.mark.parametrize("page", ["/", "/orders/new/", "/customers/", "/profiles/", "/orders/import/"])
def test_no_page_carries_a_style_of_its_own(office, page):
    html = office.get(page).content.decode()
    assert " style=" not in html
    assert "<style" not in html
    assert " on" + "click" not in html
