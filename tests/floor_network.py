"""A station in a real browser whose network goes and comes: for the page and for its service worker."""

import json
import time
import urllib.request

import websocket
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.ui import WebDriverWait

PATIENCE = 20  # seconds: the machine may be busy with other tests
ONLINE = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
LOST_REPLY = """
const real = window.fetch;
window.fetch = async (address, options) => {
  const answer = await real(address, options);
  if (!String(address).includes(arguments[0])) return answer;
  window.fetch = real;
  throw new TypeError("the answer was lost");
};
"""


PAGES = """
const done = arguments[0];
indexedDB.open("blockyard-station").onsuccess = (event) => {
  const base = event.target.result;
  base.transaction("pages").objectStore("pages").count().onsuccess = (answer) => {
    base.close();
    done(answer.target.result);
  };
};
"""


MAIN_KEY = "return document.querySelector('#screen .is-main [data-key]').dataset.key"


def main_key(browser):
    """Return the key that the main act of the screen says: Enter, or another where Enter led here."""
    return {"Enter": Keys.ENTER}.get(key := browser.execute_script(MAIN_KEY), key)


class Place:
    """A station's screen as its hands see it."""

    def __init__(self, browser):
        self.browser = browser
        self.workers = []

    def words(self):
        return self.browser.execute_script("return document.body.innerText")

    def scan(self, code):
        """Scan in one breath, however busy the machine is."""
        keys = "for (const key of [...arguments[0], 'Enter']) window.dispatchEvent(new KeyboardEvent('keydown', {key}))"
        self.browser.execute_script(keys, code)
        return self

    def press(self, key):
        """Press one key as a person does: long after the last one, and after the screen has been read."""
        ActionChains(self.browser).pause(0.5).send_keys(key).perform()
        return self

    def act(self):
        """Take the main act by its key."""
        return self.press(main_key(self.browser))

    def click(self, what):
        self.until(lambda: self.browser.execute_script(f"return document.querySelector({what!r}) !== null"), what)
        self.browser.execute_script("document.querySelector(arguments[0]).click()", what)
        return self

    def until(self, true, what):
        try:
            WebDriverWait(self.browser, PATIENCE, poll_frequency=0.05).until(lambda _: true())
        except Exception as error:
            raise AssertionError(f"waits for {what}, sees: {self.words()}") from error
        return self

    def sees(self, *sentences):
        for words in sentences:
            self.until(lambda words=words: words.lower() in self.words().lower(), words)
        return self

    def sees_no(self, words):
        return self.until(lambda: words.lower() not in self.words().lower(), f"no “{words}”")

    def fetched_ahead(self):
        """Wait until the questions that the screen leads to are kept: until no more come."""
        before, now = -1, 0
        while before < now or now < 3:
            before, now = now, self.browser.execute_async_script(PAGES)
            time.sleep(1.5)
        return self

    # The network ------------------------------------------------------------------------------------------------------

    def offline(self):
        self._switch(gone=True)
        return self

    def online(self):
        self._switch(gone=False)
        return self

    def _switch(self, *, gone):
        state = ONLINE | {"offline": gone}
        self.browser.execute_cdp_cmd("Network.emulateNetworkConditions", state)
        for worker in self.workers:
            for number, method in enumerate(("Network.enable", "Network.emulateNetworkConditions"), 1):
                worker.send(json.dumps({"id": number, "method": method, "params": state if number == 2 else {}}))
                while json.loads(worker.recv()).get("id") != number:
                    pass

    def with_worker(self):
        """Wait until the service worker has the station, and take hold of its network too."""
        ready = "return navigator.serviceWorker.controller !== null && (await caches.keys()).length > 0"
        self.until(lambda: self.browser.execute_script(f"return (async () => {{ {ready} }})()"), "the service worker")
        time.sleep(1)  # it stores what the page is made of
        address = self.browser.capabilities["goog:chromeOptions"]["debuggerAddress"]
        with urllib.request.urlopen(f"http://{address}/json/list") as answer:
            found = [one for one in json.load(answer) if one["type"] == "service_worker"]
        self.workers = [websocket.create_connection(one["webSocketDebuggerUrl"], suppress_origin=True) for one in found]
        assert self.workers
        return self

    def lose_reply(self, to):
        """Let the server do what the next request to this address asks, and lose its answer."""
        self.browser.execute_script(LOST_REPLY, to)
        return self

    def leave(self):
        for worker in self.workers:
            worker.close()
