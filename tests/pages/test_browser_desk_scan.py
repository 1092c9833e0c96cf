"""A scanner at a desk: codes of ours go to the find field from wherever they fall; what people type stays."""

import pytest
from scanner import type_keys
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import WebDriverWait

from cutsheets.codes import make_sheet_code
from orders.models import Order

pytestmark = pytest.mark.django_db(transaction=True)
PATIENCE = 20


@pytest.fixture
def code(released):
    return make_sheet_code(released.number, "A")


@pytest.fixture
def page(browser_as, shop, code):
    """The page of a new order, the job half typed."""
    page = browser_as(shop.people["mina"], "/orders/new/")
    field = page.find_element(By.ID, "id_job")
    field.send_keys("Gable")
    ActionChains(page).pause(0.2).perform()  # nobody scans within 40 ms of typing
    return page


def job(page):
    return page.find_element(By.ID, "id_job").get_attribute("value")


@pytest.mark.parametrize(
    ("suffix", "set_up"), [("\r", {}), ("\t", {}), ("\r", {"computer": "azerty"}), ("\r", {"caps": True})]
)
def test_a_whole_code_of_ours_is_taken_out_of_a_field(page, code, suffix, set_up):
    type_keys(page, code + suffix, **set_up)
    WebDriverWait(page, PATIENCE).until(lambda _: page.current_url.endswith(f"/orders/{Order.objects.get().number}/"))


@pytest.mark.parametrize("typed", ["roof", "0733661185428", "BY4101"])
def test_what_is_no_whole_code_of_ours_stays_in_the_field(page, typed):
    type_keys(page, typed, gap=0.03)
    type_keys(page, "\t")
    assert job(page) == f"Gable{typed}"
    assert page.current_url.endswith("/orders/new/")


def test_a_fast_typist_sends_the_form_with_enter(page):
    """A burst that ends with Enter: it is the form's, not the find field's."""
    type_keys(page, "roof\r", gap=0.03)
    ActionChains(page).pause(0.5).perform()
    assert "?q=" not in page.current_url
