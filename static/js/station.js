// The station page: a scan or a press goes to the server, the screen that it answers with takes the old one's place.
//
// Every screen is a whole page of the server, so that without this script the same links and forms still work.
"use strict";

(() => {
  const DEAD = 400; // ms after a change of screen in which the main act does nothing: nobody has read it yet
  const POLL = 5000; // ms between two looks for what others have done
  const PATIENCE = 10000; // ms until an answer is no longer waited for

  const screen = () => document.getElementById("screen");
  const bar = document.getElementById("network");
  const said = document.getElementById("said");
  let changedAt = performance.now();
  let busy = false;
  let waiting = ""; // a scan that came while an answer was on its way: it is sent next, never lost

  // 128 random bits; crypto.randomUUID is missing where the page comes over plain http.
  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  function tell(sentence) {
    bar.querySelector("b").textContent = sentence;
    bar.hidden = false;
  }

  function show(page, address, { quietly = false } = {}) {
    const next = new DOMParser().parseFromString(page, "text/html");
    const found = next.getElementById("screen");
    if (!found) {
      window.location.assign(address); // signed out meanwhile, or another page altogether
      return;
    }
    screen().replaceWith(document.adoptNode(found));
    document.title = next.title;
    said.textContent = found.dataset.said || "";
    bar.hidden = true;
    changedAt = performance.now();
    if (quietly) return;
    window.scrollTo(0, 0);
    const field = found.querySelector("[autofocus]");
    if (field) field.focus();
    Sounds.play(found.dataset.sound);
  }

  // Returns the answer, or null after having said why there is none.
  async function ask(address, options, trouble) {
    try {
      const answer = await fetch(address, { signal: AbortSignal.timeout(PATIENCE), ...options });
      if (answer.status < 500) return answer;
      tell("Not saved. The server had a fault. Try again; if it stays, tell the office.");
    } catch {
      tell(trouble);
    }
    return null;
  }

  async function go(address, options, trouble) {
    if (busy) return;
    busy = true;
    screen().setAttribute("aria-busy", "true");
    const answer = await ask(address, options, trouble);
    if (answer) {
      const page = await answer.text();
      show(page, answer.url);
      const isScreenOfItsOwn = answer.redirected || !options.method;
      if (isScreenOfItsOwn) window.history.replaceState(null, "", answer.url);
    }
    screen().removeAttribute("aria-busy");
    busy = false;
    const text = waiting;
    waiting = "";
    if (text) scanned(text);
  }

  function post(form, trouble, button) {
    const id = form.elements.namedItem("scan_id");
    // Kept until it is answered: pressed again after a lost answer, it is counted once.
    if (id && !id.value) id.value = newId();
    go(form.action, { method: "POST", body: new FormData(form, button) }, trouble);
  }

  function scanned(text) {
    if (busy) {
      waiting = text;
      return;
    }
    const form = document.getElementById("scan");
    form.elements.namedItem("raw").value = text;
    form.elements.namedItem("scan_id").value = newId();
    post(form, "Not sent. No network. Scan again when it is back.");
  }

  function pressed(key) {
    const named = `[data-key="${CSS.escape(key)}"]`;
    const target = screen().querySelector(named) || document.querySelector(`.st-rail ${named}`);
    if (target) target.click();
    return Boolean(target);
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post" || form.closest("#screen, #typed") === null) return;
    event.preventDefault();
    if (form.dataset.act === "main" && performance.now() - changedAt < DEAD) return;
    post(form, "No answer. No network. Press again when it is back: it is counted once.", event.submitter);
  });

  document.addEventListener("click", (event) => {
    const link = event.target.closest("#screen a[href], .st-rail a[data-key]");
    if (!link || link.target || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    if (link.dataset.act === "main" && performance.now() - changedAt < DEAD) return;
    go(link.href, {}, "No network. Try again when it is back.");
  });

  async function look() {
    const now = screen();
    if (busy || document.hidden || !now.dataset.version || now.querySelector("input:focus, textarea:focus")) return;
    // a refusal shows the work under the address of the question that was answered: asking there again would hide it
    const address = new URL(now.dataset.at || window.location.href, window.location.href);
    address.searchParams.set("seen", now.dataset.version);
    const answer = await ask(address, {}, "No network. Keep working from the paper; scan again when it is back.");
    if (!answer) return;
    bar.hidden = true;
    const page = answer.status === 204 ? "" : await answer.text();
    if (page && screen() === now && !busy) show(page, window.location.href, { quietly: true });
  }

  function tick() {
    const time = new Date();
    const two = (number) => String(number).padStart(2, "0");
    document.getElementById("clock").textContent = `${two(time.getHours())}:${two(time.getMinutes())}`;
  }

  Wedge.listen({ onScan: scanned, onRepeat: () => Sounds.play("tick"), onCommand: pressed });
  window.addEventListener("blur", () => document.body.classList.add("is-deaf"));
  window.addEventListener("focus", () => document.body.classList.remove("is-deaf"));
  document.body.classList.toggle("is-deaf", !document.hasFocus());
  setInterval(look, POLL);
  setInterval(tick, 1000);
  tick();
})();
