// Tells a scanner that types like a keyboard ("wedge") from a person's fingers, on the whole page: no field to click.
//
// Keys that follow each other within GAP are a scanner's. The Enter or Tab that ends a scan belongs to it and never
// reaches a button. A scanner without a suffix is heard too: its code ends after IDLE. A single key is a command only
// when nothing came just before and nothing follows within QUIET, so a T inside a code never opens anything.
"use strict";

const Wedge = (() => {
  // The station says how slow its scanner is; all other times follow from it.
  const GAP = Number(document.body.dataset.scanGap) || 60; // ms between two keys; people seldom type below 80
  const IDLE = 2.5 * GAP; // ms without a key: a scan without suffix has ended; shorter is a hiccup of the scanner
  const QUIET = GAP + 10; // ms of silence after a single key before it is a command
  const ALONE = 5 * GAP; // ms of silence before a key that may be a command: a slow scanner must not press buttons
  const AFTER_SCAN = 400; // ms in which an Enter still belongs to the scan just read
  const REPEAT = 2000; // ms in which the same code again is the same scan
  const TYPING = 1500; // ms after a key that is no command: somebody types a code and has opened no field for it
  const SHORTEST = 3; // characters; fewer are a person's
  const MACHINE = 10; // keys at this speed, Enter included, are no person's, whatever field they fell into

  const ALPHABET = "0123456789ABCDEFGHJKLMNPRTUVWXY"; // as in cutsheets/codes.py
  const OURS = /^B[YSKRPBN][0-9A-HJ-NPRTUVWXY]+$/;
  const LIKE_OURS = /^B(?:[YSKRPB][0-9]|N)/; // what is left of a code of ours that was read in part
  // What a key writes on the layouts that scanners type for: the factory's, then where French and German differ.
  const LAYOUTS = [
    {},
    { KeyQ: "A", KeyA: "Q", KeyZ: "W", KeyW: "Z", Semicolon: "M" },
    { KeyY: "Z", KeyZ: "Y", Slash: "-" },
  ];
  const SIGNS = { Minus: "-", NumpadSubtract: "-", BracketRight: "]", Space: " " };

  function tidy(text) {
    return text.replace(/^\s*C[0-4](?=B)|\]C[0-4]|[\s-]/gi, "").toUpperCase();
  }

  // The check character of cutsheets/codes.py: the sum of value × 3^place is 1 modulo 31.
  function checks(code) {
    if (!OURS.test(code)) return false;
    let sum = 0;
    for (const symbol of code.slice(0, -1)) sum = ((sum + ALPHABET.indexOf(symbol === "S" ? "5" : symbol)) * 3) % 31;
    return (sum + ALPHABET.indexOf(code.at(-1))) % 31 === 1;
  }

  // One code whose check character is right, or several that ran together.
  function isWhole(text) {
    const code = tidy(text);
    if (checks(code)) return true;
    const places = [...code.matchAll(/B/g)].map((found) => found.index).filter(Boolean);
    return places.some((place) => checks(code.slice(0, place)) && isWhole(code.slice(place)));
  }

  function factoryKey(code) {
    const found = /^(?:Key|Digit|Numpad)([A-Z0-9])$/.exec(code);
    return found ? found[1] : SIGNS[code] ?? "";
  }

  // What the page was given, or what the keys mean on another layout where only that is a code of ours, whole or in part.
  function reading(keys) {
    const typed = keys.map((key) => (key.key.length === 1 ? key.key : "")).join("");
    const on = (layout) => keys.map(({ code }) => layout[code] ?? factoryKey(code)).join("");
    const all = [typed, ...LAYOUTS.map(on)];
    return all.find(isWhole) ?? all.find((text) => LIKE_OURS.test(tidy(text))) ?? typed;
  }

  // Dead keys and the numbers of a keypad without Num Lock write nothing, but are keys of the scanner.
  function isSign(event) {
    return event.key.length === 1 || factoryKey(event.code) !== "";
  }

  // Line feed and carriage return of a scanner may come as Ctrl J and Ctrl M.
  function isEnd(event) {
    const control = event.ctrlKey && (event.code === "KeyJ" || event.code === "KeyM");
    return event.key === "Enter" || event.key === "Tab" || control;
  }

  function fieldOf(element) {
    const isField = element && element.matches("input:not([type=checkbox], [type=radio], [type=submit]), textarea, select");
    return isField ? element : null;
  }

  function swallow(event) {
    event.preventDefault();
    event.stopImmediatePropagation();
  }

  // onScan(text), onRepeat(text), onCommand(key) → true when the key did something; onTyped(key) likewise, within a code
  // that is typed into nothing; onSlow() where a whole code came too slowly for a scanner.
  function listen({ onScan, onRepeat, onCommand, onTyped, onSlow }) {
    let keys = [];
    let slow = []; // the same and those before them, into no field, however slowly they came
    let slowTimer = 0;
    let kept = null; // the field that had the focus when the first key came, and what stood in it
    let lastKey = -Infinity;
    let lastScan = { text: "", at: -Infinity };
    let timer = 0;
    let typedAt = -Infinity; // the last key of a code that is typed by hand

    function forget() {
      clearTimeout(timer);
      keys = [];
      kept = null;
    }

    // The signs of a code that is typed into nothing are no commands, and the Enter behind them counts nothing.
    function command(key, now) {
      const isTyped = now - typedAt < TYPING;
      const isDone = isTyped ? onTyped(key) : onCommand(key);
      const isSign = /^[a-z0-9]$/.test(key);
      typedAt = isSign && (isTyped || !isDone) ? now : -Infinity;
      return isDone;
    }

    const isSlowCode = () => slow.length >= SHORTEST && isWhole(reading(slow));

    function hearSlowly(key, gap) {
      if (gap > TYPING) slow = [];
      slow.push(key);
      clearTimeout(slowTimer);
      slowTimer = setTimeout(() => isSlowCode() && onSlow(), ALONE);
    }

    function forgetSlow() {
      clearTimeout(slowTimer);
      slow = [];
    }

    // A scanner may stumble in the middle of a code; in a field, where people type, it may not.
    const goesOn = (gap) => gap <= (kept || keys.length < SHORTEST ? GAP : IDLE);

    function hear(text, now) {
      const repeated = text === lastScan.text && now - lastScan.at < REPEAT;
      lastScan = { text, at: now };
      (repeated ? onRepeat : onScan)(text);
    }

    // Out of a field only whole codes of ours are taken, and what no person can have typed.
    function isScan(gap = Infinity) {
      if (keys.length < SHORTEST) return false;
      return !kept || isWhole(reading(keys)) || (gap <= GAP && keys.length >= MACHINE);
    }

    function take(now) {
      const text = reading(keys);
      if (kept) {
        kept.field.value = kept.value;
        kept.field.dispatchEvent(new Event("input", { bubbles: true }));
      }
      forget();
      forgetSlow();
      hear(text, now);
    }

    function ended(event, now, gap) {
      if (goesOn(gap) && isScan(gap)) {
        swallow(event);
        take(now);
      } else if (now - lastScan.at < AFTER_SCAN) {
        swallow(event);
      } else if (isSlowCode() && gap < TYPING) {
        swallow(event);
        onSlow();
      } else if (!fieldOf(document.activeElement) && event.key === "Enter") {
        const alone = keys.length === 0 || gap > ALONE;
        const onControl = document.activeElement && document.activeElement.matches("button, a, summary");
        if (!alone) swallow(event);
        else if (!onControl && command("Enter", now)) swallow(event);
      }
      forget();
      forgetSlow();
    }

    function signed(event, now, gap) {
      if (!goesOn(gap)) {
        if (isScan()) take(lastKey); // a busy page hears the next scan before it knows that the last one has ended
        else forget();
      }
      const field = fieldOf(document.activeElement);
      if (keys.length === 0) kept = field && { field, value: field.value };
      else if (!kept) event.preventDefault(); // a field that opens in the middle of a scan gets none of it
      keys.push({ key: event.key, code: event.code });
      if (!field) hearSlowly(keys.at(-1), gap);
      clearTimeout(timer);
      const alone = keys.length === 1 && !field && gap > ALONE;
      if (alone) {
        const key = event.key;
        timer = setTimeout(() => command(key.length === 1 ? key.toLowerCase() : key, now), QUIET);
      } else {
        timer = setTimeout(() => isScan() && take(now + IDLE), IDLE);
      }
    }

    // A key that sticks or is held down is pressed once: it counts nothing again and adds nothing to a code.
    function held(event) {
      if (event.key === "Enter" || (event.key === " " && !fieldOf(document.activeElement))) swallow(event);
    }

    function heard(event) {
      if (event.isComposing) return;
      if (event.repeat) {
        held(event);
        return;
      }
      const now = event.timeStamp;
      const gap = now - lastKey;
      const isShortcut = (event.ctrlKey || event.altKey || event.metaKey) && !event.getModifierState("AltGraph");
      if (isEnd(event)) ended(event, now, gap);
      else if (isShortcut) return;
      else if (isSign(event)) signed(event, now, gap);
      else if (event.key === "Escape" || (event.key === "Backspace" && !fieldOf(document.activeElement))) {
        if (gap > ALONE && onCommand(event.key)) swallow(event);
      } else return; // Shift and its like belong to the key that follows
      lastKey = now;
    }

    window.addEventListener("keydown", heard, true);
    document.addEventListener("code", (event) => hear(event.detail, event.timeStamp));
  }

  // Takes a code that was read by other means than keys.
  function hear(code) {
    document.dispatchEvent(new CustomEvent("code", { detail: code }));
  }

  return { listen, hear, reading, isWhole };
})();
