"""A scanner that types like a keyboard, for the page tests: real keys, 10 ms apart by the clock of the page.

The keys carry their own times, so that a busy machine cannot make the scanner as slow as a person.
"""

import time

GAP = 0.01  # seconds; scanners type a key every 2 to 45 ms


STALL = 0.1  # seconds between two keys: longer, and the page takes what came so far for a whole scan
TRIES, PAUSE = 3, 2.5  # a busy machine types too slowly now and then; a person would scan again


def scan(driver, code, suffix="\r"):
    """Type a code into nothing in particular; `suffix` is what the scanner sends after it, Enter as a rule."""
    for _ in range(TRIES):
        if type_once(driver, code + suffix):
            return
        time.sleep(PAUSE)


def type_once(driver, keys):
    """Type keys; return whether none of them came so late that they are no longer one scan."""
    began = before = time.time()
    longest = 0.0
    for place, sign in enumerate(keys):
        key = {
            "key": "Enter" if sign == "\r" else sign, "text": sign, "windowsVirtualKeyCode": ord(sign.upper()),
            "timestamp": began + place * GAP,
        }  # fmt: skip
        for kind in ("keyDown", "keyUp"):
            driver.execute_cdp_cmd("Input.dispatchKeyEvent", {"type": kind, **key})
        longest, before = max(longest, time.time() - before), time.time()
    return longest < STALL
