"""A tablet's camera in place of a scanner, in a real browser that films a printed sheet."""

from pathlib import Path

import numpy
import pypdfium2
import pytest
from debian_browser import find, make_fresh
from django.conf import settings
from floor_shop import plan_for, theatre
from scanner import scan
from selenium import webdriver
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

from cutsheets.codes import make_sheet_code
from orders.models import Blank, RunSource, Scan
from orders.sawing import open_source
from orders.travellers import print_traveller
from shop.acts import Act

pytestmark = pytest.mark.django_db(transaction=True)
AXE = (Path(__file__).parent / "vendor" / "axe-core" / "axe.min.js").read_text(encoding="utf-8")
SCREENSHOTS = Path(settings.BASE_DIR) / "var" / "screenshots"
PATIENCE = 30  # seconds: the decoder is compiled first, and the machine may be busy
WIDE, HIGH = 1280, 720
DPI = 150
BAND = {"pieces": [{"length": 40, "qty": 3}]}


@pytest.fixture
def order(shop):
    order = theatre(shop, lines=(("TP-22", BAND),))
    plan_for(shop, order)
    return order


def film(picture, path):
    """Write a grey picture as a film of one second: YUV4MPEG2, as the browser's own capture reads it."""
    still = numpy.full((HIGH, WIDE), 255, numpy.uint8)
    part = picture[:HIGH, -WIDE:]
    still[: part.shape[0], : part.shape[1]] = part
    grey = bytes([128]) * (HIGH * WIDE // 2)
    frame = b"FRAME\n" + still.tobytes() + grey
    path.write_bytes(f"YUV4MPEG2 W{WIDE} H{HIGH} F10:1 Ip A1:1 C420jpeg\n".encode() + frame * 10)
    return path


@pytest.fixture
def screenshot_of():
    """Return a function that keeps a picture of a page in var/screenshots/ for people to look at."""

    def save(page, name):
        SCREENSHOTS.mkdir(parents=True, exist_ok=True)
        page.save_screenshot(str(SCREENSHOTS / f"{name}.png"))

    return save


@pytest.fixture
def camera(tmp_path, live_server, client, shop):
    """Return a function that opens a station in a browser whose camera films a picture."""
    drivers = []

    def start(picture):
        found = find()
        options = webdriver.ChromeOptions()
        options.binary_location = found.chromium
        flags = [
            "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
            "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-video-capture={film(picture, tmp_path / 'film.y4m')}",
            f"--user-data-dir={tmp_path / 'chromium'}", "--window-size=1280,800",
        ]  # fmt: skip
        for flag in flags:
            options.add_argument(flag)
        driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(found.chromedriver))
        drivers.append(driver)
        return signed_in(driver, live_server, client, shop)

    yield start
    for driver in drivers:
        driver.get("about:blank")
        driver.quit()


def signed_in(driver, live_server, client, shop):
    make_fresh(driver, live_server.url)
    client.force_login(shop.people["bo"], backend="django.contrib.auth.backends.ModelBackend")
    driver.get(f"{live_server.url}/healthz")
    driver.add_cookie({"name": "sessionid", "value": client.cookies["sessionid"].value, "httpOnly": True})
    driver.get(f"{live_server.url}/station/saw-1/")
    return driver


def sheet_of(order, shop):
    """Return the traveller of an order as a grey picture."""
    pdf = print_traveller(order, Act(shop.people["mina"]))
    return pypdfium2.PdfDocument(pdf)[0].render(scale=DPI / 72, grayscale=True).to_numpy().squeeze()


def sees(page, words, where="screen"):
    said = f"return document.getElementById('{where}').innerText.toLowerCase()"
    WebDriverWait(page, PATIENCE).until(lambda _: words.lower() in page.execute_script(said), words)


def is_open(page):
    return page.execute_script("return document.getElementById('camera').open")


def watch_tracks(page):
    """Remember every stream that the page opens, so that a test can ask whether it was stopped."""
    page.execute_script(
        "window.tracks = []; const own = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);"
        "navigator.mediaDevices.getUserMedia = async (what) => {"
        " const stream = await own(what); window.tracks.push(...stream.getTracks()); return stream; };"
    )


def is_filming(page):
    return page.execute_script("return window.tracks.some((track) => track.readyState === 'live')")


def press(page, key):
    ActionChains(page).pause(0.5).send_keys(key).perform()


def test_a_filmed_traveller_shows_its_order_and_the_camera_stops(camera, order, shop):
    page = camera(sheet_of(order, shop))
    watch_tracks(page)
    press(page, "c")
    sees(page, "Take K-0001, open it")
    assert list(Scan.objects.values_list("raw", "answer")) == [(make_sheet_code(order.number, "A"), "ok")]
    assert not is_open(page)
    assert not is_filming(page)
    broken = [entry["message"] for entry in page.get_log("browser") if entry["level"] == "SEVERE"]
    assert [message for message in broken if "favicon" not in message] == []


def test_other_barcodes_and_blank_paper_count_for_nothing_and_escape_stops_the_camera(camera, order, screenshot_of):
    page = camera(numpy.full((HIGH, WIDE), 200, numpy.uint8))
    watch_tracks(page)
    page.find_element(By.CSS_SELECTOR, "#screen [data-camera] button").click()
    sees(page, "Hold one barcode along the line", "camera")
    screenshot_of(page, "camera")
    assert is_filming(page)
    press(page, Keys.ESCAPE)
    WebDriverWait(page, PATIENCE).until(lambda _: not is_open(page) and not is_filming(page))
    sees(page, "Scan a sheet")
    assert not Scan.objects.exists()


def test_the_camera_stops_when_the_page_is_hidden_and_when_a_scanner_reads(camera, order):
    page = camera(numpy.full((HIGH, WIDE), 200, numpy.uint8))
    watch_tracks(page)
    press(page, "c")
    sees(page, "Hold one barcode", "camera")
    scan(page, make_sheet_code(order.number, "A"))
    sees(page, "Take K-0001, open it")
    assert not is_filming(page)
    press(page, "c")
    sees(page, "Hold one barcode", "camera")
    page.execute_script(
        "Object.defineProperty(document, 'hidden', {value: true});document.dispatchEvent(new Event('visibilitychange'))"
    )
    WebDriverWait(page, PATIENCE).until(lambda _: not is_open(page) and not is_filming(page))


# Without a camera -----------------------------------------------------------------------------------------------------


@pytest.fixture
def station(browser_as, shop):
    return browser_as(shop.people["bo"], "/station/saw-1/")


@pytest.mark.parametrize(
    ("error", "words"),
    [("NotAllowedError", "Allow it"), ("NotFoundError", "no camera"), ("AbortError", "does not start")],
)
def test_a_camera_that_cannot_be_used_says_why_in_one_sentence(station, error, words):
    refuse = "navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException('', arguments[0]))"
    station.execute_script(refuse, error)
    press(station, "c")
    sees(station, words, "camera")


def test_without_https_the_page_says_that_it_has_no_camera(station, viewport, screenshot):
    station.execute_script("Object.defineProperty(navigator, 'mediaDevices', {value: undefined})")
    press(station, "c")
    sees(station, "only where this page comes over https", "camera")
    for size in ((1280, 800), (1024, 768)):
        viewport(*size)
        screenshot(f"camera-none-{size[0]}")
        assert station.execute_script("return camera.scrollWidth <= innerWidth && camera.scrollHeight <= innerHeight")
    station.execute_script(AXE)
    found = station.execute_async_script("axe.run(document).then((answer) => arguments[0](answer.violations))")
    assert [each["id"] for each in found] == []


def test_keys_press_nothing_below_the_camera(station, shop, order):
    open_source(RunSource.objects.get(), Act(shop.people["bo"], shop.stations["saw-1"]))
    station.get(station.current_url + f"?order={order.number}")
    sees(station, "Blank sawn")
    press(station, "c")
    WebDriverWait(station, PATIENCE).until(is_open)
    press(station, "t")
    press(station, Keys.BACKSPACE)
    assert is_open(station)
    assert Blank.objects.get().sawn == 0


def test_a_browser_that_decodes_itself_needs_no_other_decoder(station, order, shop):
    """Stands in for browsers that know Code 128: what is misread, no code of ours or seen once counts for nothing."""
    code, other = (make_sheet_code(order.number + more, "A") for more in (0, 1))
    seen = [code[:-1], code[:-1], "0733661185428", "0733661185428", other, code, code]
    station.execute_script(
        "const codes = arguments[0];"
        "window.BarcodeDetector = class { static getSupportedFormats() { return Promise.resolve(['code_128']); }"
        " detect() { return Promise.resolve([{ rawValue: codes.shift() ?? '' }]); } };"
        "const canvas = Object.assign(document.createElement('canvas'), { width: 640, height: 480 });"
        "let place = 0; setInterval(() => canvas.getContext('2d').fillRect(place++, 0, 9, 9), 50);"
        "navigator.mediaDevices.getUserMedia = () => Promise.resolve(canvas.captureStream(10));",
        seen,
    )
    press(station, "c")
    sees(station, "Take K-0001, open it")
    assert Scan.objects.get().raw == code
    assert station.execute_script("return typeof ZXingWASM") == "undefined"


def test_only_station_pages_may_compile_a_decoder(floor, office):
    assert "'wasm-unsafe-eval'" in floor.get("/station/saw-1/").headers["Content-Security-Policy"]
    assert "unsafe" not in office.get("/orders/").headers["Content-Security-Policy"]
