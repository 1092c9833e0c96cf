// Tells a scanner that types like a keyboard ("wedge") from a person's fingers, on the whole page: no field to click.
//
// Keys that follow each other within SCAN_GAP are a scanner's. The Enter or Tab that ends a scan belongs to it and never
// reaches a button. A scanner without a suffix is heard too: its code ends after IDLE. A single key is a command only
// when nothing came just before and nothing follows within QUIET, so a T inside a code never opens anything.
"use strict";

const Wedge = (() => {
  const SCAN_GAP = 60; // ms between two keys of a scanner; slow ones were seen at 45, people seldom below 80
  const SHORTEST = 3; // characters; fewer are a person's
  const IDLE = 150; // ms without a key: a scan without suffix has ended
  const QUIET = 70; // ms of silence after a single key before it is a command
  const ALONE = 300; // ms of silence before a key that may be a command: a slow scanner must not press buttons
  const AFTER_SCAN = 400; // ms in which an Enter still belongs to the scan just read
  const REPEAT = 2000; // ms in which the same code again is the same scan

  const ALPHABET = "0123456789ABCDEFGHJKLMNPRTUVWXY"; // as in cutsheets/codes.py
  const OURS = /^B[YSKRPN][0-9A-HJ-NPRTUVWXY]+$/;

  // The check character of cutsheets/codes.py: the sum of value × 3^place is 1 modulo 31.
  function checks(text) {
    const code = tidy(text);
    if (!OURS.test(code)) return false;
    let sum = 0;
    for (const symbol of code.slice(0, -1)) sum = ((sum + ALPHABET.indexOf(symbol === "S" ? "5" : symbol)) * 3) % 31;
    return (sum + ALPHABET.indexOf(code.at(-1))) % 31 === 1;
  }

  function tidy(text) {
    return text.replace(/^\s*\]C[01]/i, "").replace(/[\s-]/g, "").toUpperCase();
  }

  // What the key would write on the layout that scanners leave the factory with.
  function factoryKey(code) {
    const found = /^(?:Key|Digit|Numpad)([A-Z0-9])$/.exec(code);
    return found ? found[1] : { Minus: "-", NumpadSubtract: "-", BracketRight: "]", Space: " " }[code] || "";
  }

  // Of the two readings the one whose check character is right; otherwise what the page was given, unchanged.
  function reading(keys) {
    const typed = keys.map((key) => key.key).join("");
    const factory = keys.map((key) => factoryKey(key.code)).join("");
    return !checks(typed) && checks(factory) ? factory : typed;
  }

  function fieldOf(element) {
    const isField = element && element.matches("input:not([type=checkbox], [type=radio], [type=submit]), textarea, select");
    return isField ? element : null;
  }

  // onScan(text), onRepeat(text), onCommand(key) → true when the key did something.
  function listen({ onScan, onRepeat, onCommand }) {
    let keys = [];
    let kept = null; // the field that had the focus when the first key came, and what stood in it
    let lastKey = -Infinity;
    let lastScan = { text: "", at: -Infinity };
    let timer = 0;

    function forget() {
      clearTimeout(timer);
      keys = [];
      kept = null;
    }

    function isScan() {
      if (keys.length < SHORTEST) return false;
      return !kept || checks(reading(keys)); // in a field only a whole code of ours is taken out of the text
    }

    function take(now) {
      const text = reading(keys);
      if (kept) {
        kept.field.value = kept.value;
        kept.field.dispatchEvent(new Event("input", { bubbles: true }));
      }
      forget();
      const repeated = text === lastScan.text && now - lastScan.at < REPEAT;
      lastScan = { text, at: now };
      (repeated ? onRepeat : onScan)(text);
    }

    function swallow(event) {
      event.preventDefault();
      event.stopImmediatePropagation();
    }

    function ended(event, now, gap) {
      if (gap <= SCAN_GAP && isScan()) {
        swallow(event);
        take(now);
      } else if (now - lastScan.at < AFTER_SCAN) {
        swallow(event);
      } else if (!fieldOf(document.activeElement) && event.key === "Enter") {
        const alone = keys.length === 0 || gap > ALONE;
        const onControl = document.activeElement && document.activeElement.matches("button, a, summary");
        if (!alone) swallow(event);
        else if (!onControl && onCommand("Enter")) swallow(event);
      }
      forget();
    }

    function printable(event, now, gap) {
      if (gap > SCAN_GAP) forget();
      const field = fieldOf(document.activeElement);
      if (keys.length === 0 && field) kept = { field, value: field.value };
      keys.push({ key: event.key, code: event.code });
      clearTimeout(timer);
      const alone = keys.length === 1 && !field && gap > ALONE;
      if (alone) {
        const key = event.key;
        timer = setTimeout(() => onCommand(key.length === 1 ? key.toLowerCase() : key), QUIET);
      } else {
        timer = setTimeout(() => isScan() && take(now + IDLE), IDLE);
      }
    }

    window.addEventListener(
      "keydown",
      (event) => {
        if (event.ctrlKey || event.altKey || event.metaKey || event.repeat || event.isComposing) return;
        const now = event.timeStamp;
        const gap = now - lastKey;
        if (event.key === "Enter" || event.key === "Tab") ended(event, now, gap);
        else if (event.key.length === 1) printable(event, now, gap);
        else if (event.key === "Escape" || (event.key === "Backspace" && !fieldOf(document.activeElement))) {
          if (gap > ALONE && onCommand(event.key)) swallow(event);
        } else return; // Shift and its like belong to the key that follows
        lastKey = now;
      },
      true,
    );
  }

  return { listen };
})();
