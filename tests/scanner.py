"""A scanner that types like a keyboard, for the page tests: real keys, 10 ms apart by the clock of the page.

The keys carry their own times, so that a busy machine cannot make the scanner as slow as a person.
"""

import time

GAP = 0.01  # seconds; scanners type a key every 2 to 45 ms


def scan(driver, code, suffix="\r"):
    """Type a code into nothing in particular; `suffix` is what the scanner sends after it, Enter as a rule."""
    began = time.time()
    for place, sign in enumerate(code + suffix):
        key = {
            "key": "Enter" if sign == "\r" else sign, "text": sign, "windowsVirtualKeyCode": ord(sign.upper()),
            "timestamp": began + place * GAP,
        }  # fmt: skip
        for kind in ("keyDown", "keyUp"):
            driver.execute_cdp_cmd("Input.dispatchKeyEvent", {"type": kind, **key})
