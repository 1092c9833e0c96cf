"""The small shop of the demo with its people signed in, and an order that the pages can show."""

from html.parser import HTMLParser

import pytest
from django.test import Client
from floor_shop import BLOCK, THREE, plan_for, theatre

from orders import entry, moves
from orders.demo import small_shop
from orders.models import Order
from shop import account
from shop.acts import Act

# Crown cornice TP-14 of the demo: 9 deep × 11 high, so the foam under 1/8 in of coat is 8 7/8 × 10 3/4.
FRONT = {"name": "front", "wall": "42'-0\"", "left": {"outside": 90}, "right": {"outside": 90}}


@pytest.fixture
def shop(db):
    return small_shop()


def signed_in(person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def office(shop):
    """Mina of the office, signed in."""
    return signed_in(shop.people["mina"])


@pytest.fixture
def manager(shop):
    return signed_in(shop.people["raf"])


@pytest.fixture
def floor(shop):
    return signed_in(shop.people["bo"])


@pytest.fixture
def mina(shop):
    return Act(shop.people["mina"])


@pytest.fixture
def raf(shop):
    return Act(shop.people["raf"])


@pytest.fixture
def bo(shop):
    """Bo of the floor, at Saw 1."""
    return Act(shop.people["bo"], shop.stations["saw-1"])


@pytest.fixture
def order(shop):
    """Three equal pieces of one section, so three equal blanks; released."""
    return theatre(shop, lines=(("TP-22", THREE),))


@pytest.fixture
def run(shop, order):
    """An accepted plan that gives every blank of that order out of one block."""
    return plan_for(shop, order)


@pytest.fixture
def firm(shop):
    return shop.grades["Firm 1.5"]


@pytest.fixture
def blocks(raf, firm):
    """Two blocks on the rack."""
    return [account.receive(f"K-000{number}", firm, BLOCK, raf) for number in (1, 2)]


@pytest.fixture
def draft(shop, mina):
    """Order 4101, Bramhall Street Theatre: one line A of crown cornice along 42 ft of wall."""
    order = entry.create_order({"customer": shop.customer, "job": "Bramhall Street Theatre, front"}, mina)
    line = {
        "title": "Cornice, front run", "grade": shop.grades["Firm 1.5"], "profile": shop.profiles["TP-14"],
        "coat": "1/8", "spec": {"runs": [FRONT]},
    }  # fmt: skip
    entry.save_line(order, line, mina, version=order.version)
    return Order.objects.get(pk=order.pk)


@pytest.fixture
def released(draft, mina):
    moves.release(draft, mina)
    return Order.objects.get(pk=draft.pk)


@pytest.fixture
def typed(shop):
    """What the form of a line posts for the line of `draft`, as typed."""
    return {
        "version": "1", "mark": "A", "title": "Cornice, front run", "kind": "moulding", "qty": "1", "coat": "1/8",
        "grade": shop.grades["Firm 1.5"].pk, "profile": shop.profiles["TP-14"].pk, "bare": "wall",
        "runs-TOTAL_FORMS": "1", "runs-INITIAL_FORMS": "0", "runs-0-name": "front", "runs-0-wall": "42' 0",
        "runs-0-left": "outside", "runs-0-left_angle": "90", "runs-0-right": "outside", "runs-0-right_angle": "90",
        "runs-0-qty": "1", "frames-TOTAL_FORMS": "1", "frames-INITIAL_FORMS": "0", "frames-0-qty": "1",
        "pieces-TOTAL_FORMS": "1", "pieces-INITIAL_FORMS": "0", "pieces-0-qty": "1",
    }  # fmt: skip


class _Words(HTMLParser):
    """Collects what a page says: pictures and scripts left out, stacked fractions as 7/8."""

    def __init__(self):
        super().__init__()
        self.said, self.unsaid, self.stack = [], 0, 0

    def handle_starttag(self, tag, attributes):
        self.unsaid += tag in ("script", "style", "svg", "template")
        if ("class", "frac") in attributes:
            self.said.append(" ")
            self.stack = 2
        elif not self.stack:
            self.said.append(" ")

    def handle_endtag(self, tag):
        self.unsaid -= tag in ("script", "style", "svg", "template")

    def handle_data(self, text):
        if self.unsaid:
            return
        self.said.append(text)
        if self.stack:
            self.stack -= 1
            self.said.append("/" if self.stack else " ")


@pytest.fixture
def words():
    """Return what an answer says, as one line of plain words."""

    def read(response) -> str:
        page = _Words()
        page.feed(response.content.decode())
        return " ".join("".join(page.said).split())

    return read
