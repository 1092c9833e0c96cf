"""Tags on paper: at receipt, from the foam's pages, and from the saw after something was put back."""

import pytest

from cutsheets.codes import make_stock_code
from cutsheets.sheets.barcodes import modules
from orders.models import Print
from shop import account
from shop.acts import Act
from shop.models import BlockSize, StockPiece
from shop.tags import code_of, tag_of
from tests.cutsheets.paper_reader import codes, document
from tests.cutsheets.paper_reader import words as text_of

INCH = 25_400  # µm
PAGE = "/stock/tags/"


@pytest.fixture
def here(shop):
    size = (97 * INCH, 49 * INCH, 37 * INCH)
    raf = Act(shop.people["raf"])
    return [account.receive(f"K-000{n}", shop.grades["Firm 1.5"], size, raf, lot="2610-B") for n in (1, 2, 3)]


def scanned(answer):
    assert answer["Content-Type"] == "application/pdf"
    return [sorted(code.text for code in codes(page, 300)) for page in document(answer.content)]


def test_received_blocks_are_offered_their_tags(office, shop, words):
    nominal = BlockSize.objects.get(name="8 ft, full")
    data = {"grade": shop.grades["Firm 1.5"].pk, "count": 2, "nominal": nominal.pk, "lot": "2610-B"}
    said = words(office.post("/stock/receive/", data, follow=True))
    assert "K-0001" in said
    assert "K-0002" in said
    assert "Print the tags" in said


def test_a_tag_carries_its_code_and_is_kept_as_a_print(office, here):
    answer = office.post(PAGE, {"tag": "K-0002", "grid": "tag-4x2", "start": "1"})
    assert scanned(answer) == [[make_stock_code("block", 2)]]
    assert [(each.sheet, each.of, each.number) for each in Print.objects.all()] == [("tag", "K-0002", 1)]
    again = office.post(PAGE, {"tag": "K-0002", "grid": "tag-a7", "start": "1"})
    assert "reprint 2" in text_of(again.content)[0]
    assert 'value="tag-a7" selected' in office.get(PAGE, {"tag": "K-0002"}).content.decode()


def test_a_shop_whose_printer_has_203_dots_an_inch_gets_wider_bars(manager, office, here):
    def long():
        [page] = document(office.post(PAGE, {"tag": "K-0002", "grid": "tag-4x2", "start": "1"}).content)
        [code] = codes(page, 203)
        return (code.position.top_right.x - code.position.top_left.x) / len(modules(code.text))

    usual = long()
    form = manager.get("/shop/").context["form"]
    manager.post("/shop/", {field.html_name: field.value() for field in form} | {"label_dpi": "203"})
    assert round(usual, 1) == 2.7  # 4 dots of 1/300 in
    assert round(long(), 1) == 3.0


def test_many_tags_come_on_one_sheet_of_labels_from_the_first_one_left(office, here):
    tags = [block.tag for block in here]
    answer = office.post(PAGE, {"tag": tags, "grid": "letter-2x5", "start": "9"})
    assert scanned(answer) == [[make_stock_code("block", n) for n in pair] for pair in ((1, 2), (3,))]


def test_a_label_that_the_sheet_does_not_have_is_refused_and_nothing_is_kept(office, here, words):
    answer = office.post(PAGE, {"tag": "K-0001", "grid": "letter-2x3", "start": "7"})
    assert answer.status_code == 422
    assert "there is no label 7" in words(answer)
    assert not Print.objects.exists()


def test_foam_that_is_gone_gets_no_tag(office, shop, here, words):
    account.scrap(here[0], Act(shop.people["raf"]), reason="wet")
    answer = office.post(PAGE, {"tag": ["K-0001", "K-0002"], "grid": "letter-2x5", "start": "1"})
    assert "K-0001 is scrapped; it needs no tag." in words(answer)
    assert not Print.objects.exists()


def test_nothing_ticked_is_refused(office, here, words):
    assert office.post(PAGE, {"grid": "tag-4x2", "start": "1"}).status_code == 422


def test_the_pages_of_the_foam_lead_to_the_tags(floor, here):
    assert "/stock/tags/?tag=K-0001" in floor.get("/stock/K-0001/").content.decode()
    assert "/stock/tags/?tag=K-0001&amp;tag=K-0002&amp;tag=K-0003" in floor.get("/stock/").content.decode()


def test_a_scanned_tag_leads_the_office_to_its_foam(office, here):
    assert office.get("/orders/", {"q": make_stock_code("block", 2)}).url == "/stock/K-0002/"
    unknown = office.get("/orders/", {"q": make_stock_code("remnant", 2)}, follow=True)
    assert unknown.status_code == 404


@pytest.mark.parametrize("tag", ["K-0007", "R-12345"])
def test_tags_numbered_here_have_a_code(tag):
    assert tag_of(code_of(tag)) == tag


@pytest.mark.parametrize("tag", ["F-2207", "K-07", "K-00012", "K-12B4", "old 7", ""])
def test_a_tag_of_another_form_has_none(tag):
    assert code_of(tag) is None


def test_a_tag_of_another_form_is_refused_in_words(office, here, words):
    StockPiece.objects.filter(tag="K-0001").update(tag="OLD-7")
    answer = office.post(PAGE, {"tag": "OLD-7", "grid": "tag-4x2", "start": "1"})
    assert "“OLD-7” is no tag of the shop's own numbers" in words(answer)
