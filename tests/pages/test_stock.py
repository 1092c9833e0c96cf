"""The stock pages: receive, look up, count, scrap."""

import pytest

from orders.demo import small_shop
from shop import account
from shop.acts import Act
from shop.models import StockMove, StockPiece

pytestmark = pytest.mark.django_db
INCH = 25_400
MEASURED = {"measured-l": "96", "measured-w": "49", "measured-h": "37", "measured-reason": "tape says 96"}


@pytest.fixture
def shop():
    return small_shop()


@pytest.fixture
def raf(client, shop):
    client.force_login(shop.people["raf"])
    return client


@pytest.fixture
def delivery(shop):
    """What the form of a delivery holds: three full blocks of Firm 1.5."""
    size = StockPiece.nominal.field.related_model.objects.get(name="8 ft, full")
    return {"grade": shop.grades["Firm 1.5"].pk, "count": 3, "nominal": size.pk, "lot": "2610-B", "place": "bay 2"}


@pytest.fixture
def block(shop):
    size = (97 * INCH, 49 * INCH, 37 * INCH)
    return account.receive("K-0007", shop.grades["Firm 1.5"], size, Act(shop.people["raf"]), lot="2610-B")


def test_three_blocks_get_three_tags_and_one_receipt_each(raf, delivery):
    raf.post("/stock/receive/", delivery)
    assert [piece.tag for piece in StockPiece.objects.all()] == ["K-0001", "K-0002", "K-0003"]
    assert StockMove.objects.filter(kind="receipt").count() == 3


def test_a_block_reserved_for_a_plan_does_not_keep_a_grade_from_running_low(raf, shop, delivery):
    raf.post("/stock/receive/", delivery | {"count": 2})
    row = next(row for row in raf.get("/stock/").context["grades"] if row["blocks"])
    assert (row["reserved"], row["low"]) == (0, False)
    account.reserve(StockPiece.objects.first(), Act(shop.people["raf"]), held_for="plan 1")
    page = raf.get("/stock/")
    row = next(row for row in page.context["grades"] if row["blocks"])
    assert (row["reserved"], row["low"]) == (1, True)
    assert "1 reserved of" in page.content.decode()


def test_a_measured_size_is_kept_to_the_sixty_fourth(raf, delivery):
    raf.post("/stock/receive/", delivery | {"count": 1, "l_um": "96 63/64", "w_um": "48-7/8"})
    piece = StockPiece.objects.get()
    assert (piece.l_um, piece.w_um, piece.h_um) == (2_463_403, 1_241_425, 37 * INCH)


def test_a_measured_size_far_from_nominal_is_asked_about(raf, delivery):
    answer = raf.post("/stock/receive/", delivery | {"l_um": "8"})
    assert "far from the nominal size" in answer.content.decode()
    assert not StockPiece.objects.exists()


def test_a_length_that_is_none_is_refused_beside_its_field(raf, delivery):
    answer = raf.post("/stock/receive/", delivery | {"h_um": "tall"})
    assert answer.context["form"].errors["h_um"]
    assert not StockPiece.objects.exists()


def test_a_new_tag_never_repeats_one_that_was_used_up(raf, delivery, block):
    StockPiece.objects.update(state="used")
    raf.post("/stock/receive/", delivery | {"count": 1})
    assert StockPiece.objects.filter(tag="K-0008").exists()


def test_the_list_finds_a_lot_and_says_how_much_is_there(raf, block):
    page = raf.get("/stock/", {"find": "2610"}).content.decode()
    assert "K-0007" in page
    assert "1,221.3" in page  # 97 × 49 × 37 in / 144 = 1221.26 bf


def test_the_list_asks_the_database_no_more_for_fifty_blocks_than_for_one(
    raf, block, delivery, django_assert_max_num_queries
):
    raf.post("/stock/receive/", delivery | {"count": 49})
    with django_assert_max_num_queries(9):
        assert "K-0056" in raf.get("/stock/").content.decode()


def test_a_piece_shows_what_happened_to_it(raf, block):
    page = raf.get("/stock/K-0007/").content.decode()
    assert "received" in page
    assert "Raf A." in page


def test_a_count_corrects_a_size_by_a_dated_line(raf, block):
    raf.post("/stock/K-0007/measured/", MEASURED)
    assert account.book_stock(block.grade) == 96 * 49 * 37 * INCH**3
    assert StockMove.objects.get(kind="correction").reason == "tape says 96"


def test_a_block_that_is_missing_comes_back_when_it_is_found(raf, block):
    raf.post("/stock/K-0007/missing/", {"missing-reason": "not in bay 2"})
    assert account.book_stock(block.grade) == 0
    raf.post("/stock/K-0007/found/", {"found-reason": "was in bay 3"})
    assert account.book_stock(block.grade) == block.volume


def test_a_count_without_a_reason_writes_nothing(raf, block):
    answer = raf.post("/stock/K-0007/scrap/", {"scrap-reason": ""})
    assert answer.status_code == 422
    assert account.book_stock(block.grade) == block.volume


def test_a_reserved_block_is_not_scrapped(raf, shop, block):
    account.reserve(block, Act(shop.people["raf"]), held_for="plan 1")
    answer = raf.post("/stock/K-0007/scrap/", {"scrap-reason": "broken"})
    assert answer.status_code == 422
    assert "K-0007" in answer.context["count"]["scrap"].non_field_errors()[0]


def test_the_floor_may_look_but_not_count(client, shop, block):
    client.force_login(shop.people["bo"])
    assert client.get("/stock/K-0007/").status_code == 200
    assert client.post("/stock/K-0007/scrap/", {"scrap-reason": "broken"}).status_code == 403
