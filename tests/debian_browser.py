"""The browser that the page tests drive: found, installed where it is missing, and made fresh for each test.

Found: $CHROMIUM and $CHROMEDRIVER, else what PATH knows. Installed: Debian's own packages, by apt-get. Run as a
script this does both and says what to do where neither works. A browser that selenium would download is never used:
its version changes under the tests, and a shop's network may not reach it.
"""

import os
import shutil
import subprocess
import sys
from typing import NamedTuple

PACKAGES = ("chromium", "chromium-driver")
REMEDY = """\
The page tests drive Chromium, and it is not on this machine with its driver.
Install both (Debian: apt-get install chromium chromium-driver), or name them:
CHROMIUM=/path/to/chromium CHROMEDRIVER=/path/to/chromedriver make test"""


class Browser(NamedTuple):
    chromium: str
    chromedriver: str


def find() -> Browser | None:
    """Return the browser and its driver, None where one of them is missing."""
    names = ("chromium", "chromium-browser", "google-chrome")
    chromium = os.environ.get("CHROMIUM") or next(filter(None, map(shutil.which, names)), None)
    driver = os.environ.get("CHROMEDRIVER") or shutil.which("chromedriver")
    return Browser(chromium, driver) if chromium and driver else None


def install() -> None:
    """Install Debian's packages as root or through sudo; a failure is left to `find` to notice."""
    if not shutil.which("apt-get"):
        return
    rights = [] if os.geteuid() == 0 else ["sudo"] if sys.stdin.isatty() else ["sudo", "--non-interactive"]
    if rights and not shutil.which("sudo"):
        return
    quiet = ["env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-qq", "-o", "Acquire::Retries=3"]
    print(f"Installing {' and '.join(PACKAGES)} for the page tests", flush=True)
    for step in (["update"], ["install", "--yes", "--no-install-recommends", *PACKAGES]):
        subprocess.run([*rights, *quiet, *step], check=False, stdout=subprocess.DEVNULL)


def make_fresh(driver, origin: str) -> None:
    """Leave nothing of an earlier visit: no page, no cookie, nothing stored for this origin, and back online."""
    driver.get("about:blank")
    online = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    for command, what in (
        ("Network.enable", {}),
        ("Network.emulateNetworkConditions", online),
        ("Network.clearBrowserCookies", {}),
        ("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "all"}),
    ):
        driver.execute_cdp_cmd(command, what)


def resize(driver, width: int, height: int) -> None:
    """Give the page this size; a window would not go below 500 points, and a phone does."""
    size = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", size)


def main() -> None:
    if find() is None:
        install()
    if find() is None:
        sys.exit(REMEDY)


if __name__ == "__main__":
    main()
