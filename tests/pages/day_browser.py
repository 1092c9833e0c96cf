"""Hands and eyes of whoever sits at the browser: sign in, fill, press, read; a page that complains fails the day.

Words are read as they are seen, lengths with their stacked fractions as `8 7/8`.
"""

import re
from fractions import Fraction

from floor_network import main_key
from scanner import scan
from selenium.common.exceptions import StaleElementReferenceException
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import Select, WebDriverWait

PATIENCE = 20  # seconds: the machine may be busy with other tests
REFUSED = ("409", "422")  # the browser notes every refusal; these two are answers, not faults
SEEN = """
const root = document.querySelector(arguments[0]);
if (!root) return "";
const walk = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
let said = "";
while (walk.nextNode()) {
  const inside = walk.currentNode.parentElement;
  if (inside.closest("svg, script, template") || !inside.checkVisibility()) continue;
  said += (inside.matches(".frac > span:last-child") ? "/" : " ") + walk.currentNode.data;
}
return said.replace(/\\s+/g, " ").trim();
"""
PRESSABLE = "//*[self::a or self::button or self::summary][starts-with(normalize-space(), {})]"
NUMBER = r"\d+(?: \d+/\d+)?|\d+/\d+"


class Hands:
    """One browser; `name` is who is signed in."""

    def __init__(self, browser, origin, screenshot):
        self.browser, self.origin, self._screenshot = browser, origin, screenshot
        self.name, self.pictures = "", 0
        browser.get_log("browser")  # what pages of other tests complained of

    def sign_in(self, name):
        """Sign in by the form, after whoever was there has signed out."""
        if self.name:
            self.open("/")
            self.press("Sign out")
        else:
            self.open("/")
        self.fill(username=name, password=f"blockyard-{name}")
        self.press("Sign in")
        self.until(lambda: self.browser.find_elements(By.CSS_SELECTOR, ".rail .person"), f"{name} is signed in")
        self.name = name

    def open(self, path):
        self.browser.get(self.origin + path)

    def fill(self, **texts):
        """Type into the fields of these names; a choice is made by its words, `__` stands for the hyphen of a row."""
        for name, text in texts.items():
            field = self.until(lambda name=name: self.field(name.replace("__", "-")), name)
            if field.tag_name == "select":
                Select(field).select_by_visible_text(text)
            elif field.get_attribute("type") == "date":  # its parts are typed in the order of the browser's language
                self.browser.execute_script("arguments[0].value = arguments[1]", field, text)
            else:
                field.clear()
                field.send_keys(text)

    def field(self, name):
        return next((one for one in self.browser.find_elements(By.NAME, name) if one.is_displayed()), None)

    def press(self, words):
        """Press the button or the link whose words begin like this."""
        self.until(lambda: self._press(words), f"a button “{words}”")

    def _press(self, words):
        found = self.browser.find_elements(By.XPATH, PRESSABLE.format(f"'{words}'"))
        target = next((one for one in found if one.is_displayed() and one.is_enabled()), None)
        if target:
            target.click()
        return target

    def key(self, key):
        """Press one key as a person does: well after the last one, and after the page has been read."""
        ActionChains(self.browser).pause(0.45).send_keys(key).perform()

    def act(self):
        """Take the main act of a station's screen by the key that it says."""
        self.key(main_key(self.browser))

    def scan(self, code):
        scan(self.browser, code)

    def words(self, where="body"):
        return self.browser.execute_script(SEEN, where)

    def sees(self, *sentences, where="body"):
        """Wait until a part of the page says all this."""
        for sentence in sentences:
            self.until(lambda sentence=sentence: sentence in self.words(where), f"“{sentence}” in {where}")

    def until(self, answer, what):
        """Wait for an answer that is not empty, and return it; otherwise fail with what the page says instead."""
        wait = WebDriverWait(
            self.browser, PATIENCE, poll_frequency=0.1, ignored_exceptions=[StaleElementReferenceException]
        )
        try:
            return wait.until(lambda _: answer())
        except Exception as error:
            raise AssertionError(f"{self.name} waits for {what}, and sees: {self.words()}") from error

    def fetch(self, path, method="GET", **fields):
        """Return the bytes that the page itself would get, with its cookies; a POST sends the page's own token."""
        script = """
        const [path, method, fields, done] = arguments;
        const body = new FormData(document.querySelector("form[method=post]"));
        for (const name in fields) body.set(name, fields[name]);
        fetch(path, {method, body: method === "POST" ? body : undefined})
          .then(async (answer) => done([answer.status, Array.from(new Uint8Array(await answer.arrayBuffer()))]));
        """
        status, content = self.browser.execute_async_script(script, path, method, fields)
        assert status == 200, (path, status)
        return bytes(content)

    def look(self, name):
        """Keep a picture of the page for people, and fail if the browser complained of any page since the last look."""
        self.pictures += 1
        self._screenshot(f"day-{self.pictures:02}-{name}")
        complaints = [entry for entry in self.browser.get_log("browser") if not _is_refusal(entry)]
        assert complaints == [], complaints


def _is_refusal(entry):
    refused = entry["source"] == "network" and any(f"status of {code} " in entry["message"] for code in REFUSED)
    return refused or "htmx:sendAbort" in entry["message"] or "htmx:afterRequest" in entry["message"]  # a page was left


def number(text):
    """Return a figure as it is read: “8 7/8” is 71/8."""
    return sum(Fraction(part) for part in text.replace(",", "").split())


def sizes(text):
    """Return every size in a text, such as “97 × 49 × 37”, as fractions of an inch."""
    found = re.findall(rf"(?:{NUMBER})(?: × (?:{NUMBER}))+", text)
    return [tuple(map(number, size.split(" × "))) for size in found]
