"""What every test may ask for: a database of its own, cheap passwords, a browser.

The database is the one of the settings: SQLite, or whatever DATABASE_URL names. `browser` drives the live server; each
test finds it with no cookies, no stored data, online, and 1280 × 800 points large.
"""

from functools import partial
from pathlib import Path

import pytest
from debian_browser import REMEDY, find, make_fresh, resize
from requests_in_hand import RequestsInHand

SCREENSHOTS = Path(__file__).parent.parent / "var" / "screenshots"
DESK = (1280, 800)
collect_ignore_glob = ["bench/bench_*"]  # scripts with needs of their own: make bench
FLAGS = (
    "--headless=new",
    "--no-sandbox",  # CI runs as root, where Chromium's sandbox does not
    "--disable-gpu",
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-dev-shm-usage",
    "--hide-scrollbars",
)


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix, tmp_path_factory):
    """Give each run and each worker its own SQLite file: in memory, the live server's threads would share one link."""
    from django.db import connection

    if connection.vendor == "sqlite":
        connection.settings_dict["TEST"]["NAME"] = tmp_path_factory.mktemp("database") / "test.sqlite3"


@pytest.fixture(scope="session", autouse=True)
def cheap_passwords(request):
    """Hash passwords fast: one argon2 hash takes a quarter of a second, and tests sign in often."""
    if not request.config.pluginmanager.hasplugin("django"):
        yield
        return
    from django.test import override_settings

    with override_settings(PASSWORD_HASHERS=["django.contrib.auth.hashers.MD5PasswordHasher"]):
        yield


@pytest.fixture(scope="session")
def driver(tmp_path_factory):
    """One Chromium for all tests of a worker; tests ask for `browser`."""
    from selenium import webdriver

    found = find()
    if found is None:
        pytest.fail(REMEDY, pytrace=False)
    options = webdriver.ChromeOptions()
    options.binary_location = found.chromium
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('chromium')}"):
        options.add_argument(flag)
    driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(found.chromedriver))
    yield driver
    driver.quit()


@pytest.fixture
def viewport(driver):
    """Return a function that sets the size of the page: viewport(390, 844) is a phone."""

    return partial(resize, driver)


@pytest.fixture
def browser(driver, live_server, viewport):
    """Return the browser as a stranger finds it: nobody signed in, nothing kept from the test before."""
    make_fresh(driver, live_server.url)
    viewport(*DESK)
    with RequestsInHand().counted() as requests:
        yield driver
        make_fresh(driver, live_server.url)  # neither a page nor a service worker of this test asks for more
        assert requests.wait_for_none(), "the server still works on a request of this test"


@pytest.fixture
def browser_as(browser, live_server, client):
    """Return a function that opens a path as this person, signed in without the form: browser_as(person, "/scan/")."""

    def open_as(person, path="/"):
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        browser.get(f"{live_server.url}/healthz")  # a cookie can only be set on a page of the server
        browser.add_cookie({"name": "sessionid", "value": client.cookies["sessionid"].value, "httpOnly": True})
        browser.get(live_server.url + path)
        return browser

    return open_as


@pytest.fixture
def screenshot(browser):
    """Return a function that keeps a picture of the page in var/screenshots/ for people to look at, and its path."""

    def save(name):
        SCREENSHOTS.mkdir(parents=True, exist_ok=True)
        file = SCREENSHOTS / f"{name}.png"
        browser.save_screenshot(str(file))
        return file

    return save
