"""A scanner that types like a keyboard, for the page tests: real keys, 10 ms apart by the clock of the page.

The keys carry the times at which a scanner would have pressed them, and go to the browser in one parcel: a busy machine
can neither make the scanner as slow as a person nor stop it in the middle of a code.
"""

import json
import time
import urllib.request

import websocket

GAP = 0.01  # seconds; scanners type a key every 2 to 45 ms

SHIFT = 8  # modifier of the browser's protocol
SIGNS = {"]": "BracketRight", "-": "Minus", " ": "Space", "\r": "Enter", "\t": "Tab"}
# Which key writes a sign, where that is not the key that is named after it.
KEYS = {"azerty": {"A": "KeyQ", "Q": "KeyA", "Z": "KeyW", "W": "KeyZ", "M": "Semicolon"}, "qwertz": {"Y": "KeyZ"}}
# What a key writes on a computer of that layout, plain and with Shift, where that is not its name.
WRITES = {
    "us": {"BracketRight": "]}", "Minus": "-_", "Semicolon": ";:"},
    "azerty": {
        "KeyQ": "aA", "KeyA": "qQ", "KeyZ": "wW", "KeyW": "zZ", "Semicolon": "mM", "KeyM": ",?", "BracketRight": "$£",
        "Minus": ")°",
        **{f"Digit{digit}": f"{plain}{digit}" for digit, plain in zip("1234567890", "&é\"'(-è_çà", strict=True)},
    },
    "qwertz": {"KeyZ": "yY", "KeyY": "zZ", "BracketRight": "+*", "Minus": "ß?"},
}  # fmt: skip


def scan(driver, code, suffix="\r"):
    """Type a code into nothing in particular; `suffix` is what the scanner sends after it, Enter as a rule."""
    type_keys(driver, code + suffix)


def type_keys(driver, keys, gap=GAP, **layouts):
    strike(driver, [stroke(sign, **layouts) for sign in keys], gap)


def strike(driver, strokes, gap=GAP):
    """Press keys, each `gap` seconds after the last or as long as its own "gap" says; the last one is pressed now."""
    at = time.time() - sum(key.get("gap", gap) for key in strokes)
    frames = []
    for number, key in enumerate(strokes):
        at += key.get("gap", gap)
        sent = {name: value for name, value in key.items() if name != "gap"} | {"timestamp": at}
        # no page listens to the key going up
        call = {"id": number, "method": "Input.dispatchKeyEvent", "params": {"type": "keyDown", **sent}}
        frames.append(websocket.ABNF.create_frame(json.dumps(call), websocket.ABNF.OPCODE_TEXT).format())
    page = websocket.create_connection(_address(driver), suppress_origin=True)
    page.sock.sendall(b"".join(frames))
    for _ in frames:
        page.recv()
    page.close()


def _address(driver):
    """Return where the browser listens to what is done to the page in front."""
    browser = driver.capabilities["goog:chromeOptions"]["debuggerAddress"]
    with urllib.request.urlopen(f"http://{browser}/json/list") as answer:
        pages = {one["id"]: one["webSocketDebuggerUrl"] for one in json.load(answer)}
    return pages[driver.current_window_handle]


def stroke(sign, scanner="us", computer="us", caps=False, shift=None):
    """Return the key that a scanner set for one layout presses for a sign, and what a computer of another writes.

    `caps`: Caps Lock is on. `shift`: whether the scanner holds Shift; None: for capitals, as scanners do.
    """
    if sign in "\r\t":
        name = SIGNS[sign]
        return {"key": name, "code": name, "text": sign if sign == "\r" else "", "windowsVirtualKeyCode": ord(sign)}
    shifted = sign.isupper() if shift is None else shift
    code = KEYS.get(scanner, {}).get(sign.upper()) or SIGNS.get(sign) or _named(sign)
    plain, upper = WRITES[computer].get(code) or (code[-1].lower(), code[-1])
    text = upper if shifted != (caps and plain.isalpha()) else plain
    key = {"key": text, "code": code, "text": text, "modifiers": SHIFT * shifted}
    return key | {"windowsVirtualKeyCode": ord(sign.upper())}


def _named(sign):
    return f"Digit{sign}" if sign.isdecimal() else f"Key{sign.upper()}"
