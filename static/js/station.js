// The station page: a scan or a press goes to the server, the screen that it answers with takes the old one's place.
//
// Every screen is a whole page of the server, so that without this script the same links and forms still work. A form
// with `data-keeps` may wait: without network its act is kept on this device (kept.js) and sent when the network is back,
// in order. Once something waits, everything that can be kept goes behind it.
"use strict";

(() => {
  const POLL = 1500; // ms between two looks for what others have done, and between two tries to send
  const LOOK_ANYWAY = 30000; // ms after which a screen is asked for even if nobody has moved anything
  const PATIENCE = 10000; // ms until an answer is no longer waited for
  const SOON = 4000; // ms until an act is kept instead of waited for: sent again it counts once
  const NO_ENTRY = { 401: "nobody", 403: "refused" };
  const NEEDS = "This needs the network. Try again when it is back; scans and counts are kept meanwhile.";
  const NOT_KEPT = "Not kept: this browser has no room left or may not store anything. Nothing was counted. Write it down and tell the office.";

  const station = document.body.dataset.station;
  const screen = () => document.getElementById("screen");
  const person = () => document.querySelector(".st-person");
  const said = document.getElementById("said");
  const here = new URL(window.location.href).pathname;

  let lookedAt = performance.now();
  let busy = false;
  let waiting = ""; // a scan that came while an answer was on its way: it is sent next, never lost
  let state = "online"; // "away", "fault", "nobody", "signed-out", "refused"
  let since = 0; // when the network went
  let shownOf = 0; // the screen is one that was kept at this time
  let scanShown = null; // the scan that led to this screen and was kept: asked again once there is a network

  // 128 random bits; crypto.randomUUID is missing where the page comes over plain http.
  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  const codeOf = (text) => text.replace(/^\s*\]C[0-4]/i, "").replace(/[\s-]/g, "").toUpperCase();

  // What waits, and what is said of it ---------------------------------------------------------------------------------

  function become(next) {
    if (next === "away" && state !== "away") since = Date.now();
    state = next;
  }

  async function showKept() {
    const acts = await Kept.acts();
    const now = screen();
    await Away.figures(now, acts);
    Away.offerUndo(now, acts, station);
    Away.offerStart(now, acts, station);
    Away.showBar(Away.barWords(state, acts, since, shownOf), state);
    Away.showClashes(await Kept.clashes());
  }

  // Screens ------------------------------------------------------------------------------------------------------------

  function put(next, { quietly = false } = {}) {
    screen().replaceWith(document.adoptNode(next));
    said.textContent = next.dataset.said || "";
    MainAct.appear(next);
    lookedAt = performance.now();
    if (quietly) return;
    window.scrollTo(0, 0);
    const field = next.querySelector("[autofocus]");
    if (field) field.focus();
    Sounds.play(next.dataset.sound);
  }

  // Shows a page of the server; one that was kept says of when it is.
  function show(page, address, { quietly = false, of = 0 } = {}) {
    const next = new DOMParser().parseFromString(page, "text/html");
    const found = next.getElementById("screen");
    if (!found) {
      window.location.assign(address); // signed out meanwhile, or another page altogether
      return;
    }
    const theirs = next.querySelector(".st-person");
    if (theirs && !of) person().replaceWith(document.adoptNode(theirs));
    document.title = next.title;
    shownOf = of;
    if (!of) scanShown = null;
    if (of) found.dataset.sound = "tick";
    else found.dataset.sound ||= new URL(address, window.location.href).searchParams.get("sound") || "";
    put(found, { quietly });
    said.textContent = next.getElementById("said").textContent.trim() || said.textContent; // who is here now
    if (!of) keepScreen(page, address);
    showKept();
  }

  function keepScreen(page, address) {
    const now = screen();
    return Ahead.keep(page, address, now, () => screen() === now && state === "online");
  }

  function showPage(kept) {
    window.history.replaceState(null, "", kept.address);
    show(kept.page, kept.address, { of: kept.at });
  }

  // The network --------------------------------------------------------------------------------------------------------

  // Returns the answer, or null where there is none; the bar says why.
  async function ask(address, { patience = PATIENCE, ...options } = {}) {
    try {
      const answer = await fetch(address, { signal: AbortSignal.timeout(patience), ...options });
      become(answer.status < 500 ? "online" : "fault");
      if (answer.status < 500) return answer;
    } catch {
      become("away");
    }
    showKept();
    return null;
  }

  // Runs one thing at a time; a scan that comes meanwhile is next.
  async function alone(work) {
    if (busy) return;
    busy = true;
    screen().setAttribute("aria-busy", "true");
    try {
      await work();
    } finally {
      screen().removeAttribute("aria-busy");
      busy = false;
    }
    const text = waiting;
    waiting = "";
    if (text) scanned(text);
  }

  async function take(answer, isGet) {
    const page = await answer.text();
    const isScreenOfItsOwn = answer.redirected || isGet;
    if (isScreenOfItsOwn && new URL(answer.url).pathname === here) window.history.replaceState(null, "", answer.url);
    show(page, answer.url);
  }

  const follow = (address) =>
    alone(async () => {
      const answer = await ask(address);
      if (answer) return take(answer, true);
      const kept = await Ahead.find(address);
      if (kept) return showPage(kept);
      Away.refuse(screen(), "No network, and this was not seen on this device before. Try again when it is back.");
    });

  // Acts ---------------------------------------------------------------------------------------------------------------

  function post(form, button) {
    const id = form.elements.namedItem("scan_id");
    // Kept until it is answered: pressed again after a lost answer, it is counted once.
    if (id && !id.value) id.value = newId();
    const fields = new FormData(form, button);
    const keeps = form.dataset.keeps;
    alone(async () => {
      const mustWait = keeps && (keeps === "undo" || state !== "online" || (await Kept.acts()).length > 0);
      const options = { method: "POST", body: fields, patience: keeps ? SOON : PATIENCE };
      const answer = mustWait ? null : await ask(form.action, options);
      if (answer) {
        if (keeps === "scan") await rememberCode(fields.get("raw"), answer);
        return take(answer, false);
      }
      if (!keeps) return Away.refuse(screen(), form.dataset.away || NEEDS);
      await keep(keeps, form, fields, id);
    });
  }

  async function keep(kind, form, sent, id) {
    const { csrfmiddlewaretoken, scan_id, ...fields } = Object.fromEntries(sent);
    const acts = await Kept.acts();
    const refusal = kind === "count" ? await Away.tooMany(fields, acts) : "";
    if (refusal) return Away.refuse(screen(), refusal);
    const act = {
      id: scan_id || newId(), kind, fields, at: Date.now(), station, address: document.body.dataset.kept,
      who: person().dataset.who,
    };
    try {
      await Kept.add(act);
    } catch {
      say(NOT_KEPT);
      return;
    }
    if (id) id.value = ""; // the next press is another act
    if (kind === "scan") await showScanned(act);
    else await afterAct(kind);
    await showKept();
  }

  // Leads where the server would: a count back to its screen, a pause to the empty one.
  async function afterAct(kind) {
    const back = screen().querySelector('a[data-key="Escape"]');
    const kept = back && (await Ahead.find(kind === "pause" ? here : back.href));
    if (kept) showPage(kept);
    else MainAct.appear(screen());
    Sounds.play(kind === "count" ? "tick" : "accepted");
    said.textContent = "Kept here.";
  }

  async function rememberCode(raw, answer) {
    const order = new URL(answer.url).searchParams.get("order");
    if (answer.redirected && order && !/^BY/.test(codeOf(raw))) await Kept.keepCode(codeOf(raw), `${station} ${order}`);
  }

  // A badge that nobody can check now: the screen stays, and what is done from here on is its person's if it is good.
  function showBadgeKept() {
    person().textContent = "Badge kept here";
    said.textContent = "Badge kept here.";
    Sounds.play("tick");
  }

  // Shows the last screen of a sheet that was seen here before, or that nobody can check it.
  async function showScanned(act) {
    if (codeOf(act.fields.raw).startsWith("BN")) return showBadgeKept();
    const { page, newer } = await Kept.pageOfCode(codeOf(act.fields.raw), station);
    if (page) showPage(page);
    else put(Away.cannotCheck(act.fields.raw, newer));
    scanShown = { raw: act.fields.raw, id: act.id };
  }

  function scanned(text, id = newId()) {
    MainAct.scanned();
    document.getElementById("camera").close();
    if (busy) {
      waiting = text;
      return;
    }
    const form = document.getElementById("scan");
    form.elements.namedItem("raw").value = text;
    form.elements.namedItem("scan_id").value = id;
    // what the screen waits for: a tag is judged by it
    for (const name of ["order", "pick"]) form.elements.namedItem(name).value = screen().dataset[name] || "";
    post(form);
  }

  function pressed(key) {
    if (document.getElementById("camera").open) return false; // what lies below it is not pressed
    const named = `[data-key="${CSS.escape(key)}"]:not([hidden], [hidden] *)`;
    const target = screen().querySelector(named) || document.querySelector(`.st-rail ${named}`);
    if (target) target.click();
    return Boolean(target) || (key === "Enter" && say(MainAct.noEnter(screen())));
  }

  // Says no where a key was pressed, in words and by a sound.
  function say(sentence) {
    if (!sentence) return false;
    Away.refuse(screen(), sentence);
    Sounds.play("unknown");
    return true;
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.target || form.method !== "post" || form.closest("#screen") === null) return;
    event.preventDefault();
    if (MainAct.takes(form)) post(form, event.submitter);
  });

  document.addEventListener("click", (event) => {
    const link = event.target.closest("#screen a[href], .st-rail a[href]");
    if (!link || link.target || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    if (MainAct.takes(link)) follow(link.href);
  });

  document.querySelector("#clashes button").addEventListener("click", async (event) => {
    await Kept.dropClash(event.currentTarget.dataset.id);
    showKept();
  });

  // What others have done ----------------------------------------------------------------------------------------------

  async function look() {
    const now = screen();
    if (busy || document.hidden || "quiet" in now.dataset || now.querySelector("input:focus, textarea:focus")) return;
    const live = new URL(person().dataset.live || ".", window.location.href);
    live.searchParams.set("seen", person().dataset.seen);
    const wasAway = state !== "online";
    const answer = await ask(live, { redirect: "manual" });
    if (!answer) return;
    if ([401, 403].includes(answer.status)) return lookAgain(now); // nobody here, or signed out
    if (answer.type === "opaqueredirect") become("signed-out");
    else if (answer.status in NO_ENTRY) become(NO_ENTRY[answer.status]);
    const newest = answer.status === 200 ? await answer.text() : "";
    if (newest) person().dataset.seen = newest;
    if (wasAway || state !== "online") await showKept();
    const isLate = performance.now() - lookedAt > LOOK_ANYWAY;
    if (state === "online" && (newest || isLate || shownOf) && now.dataset.version) await lookAgain(now);
  }

  async function lookAgain(now) {
    lookedAt = performance.now();
    // a refusal shows the work under the address of the question that was answered: asking there again would hide it
    const address = new URL(now.dataset.at || window.location.href, window.location.href);
    if (!shownOf) address.searchParams.set("seen", now.dataset.version);
    const answer = await ask(address);
    const page = !answer || answer.status === 204 ? "" : await answer.text();
    if (page && screen() === now && !busy) show(page, address, { quietly: true });
  }

  // Sends what is kept, then shows how things stand: a scan is answered as if it had just been made.
  async function send() {
    if (busy || !(await Kept.acts()).length) return false;
    const outcome = await Kept.send();
    if (outcome === "nothing") return false;
    become(["sent", "more"].includes(outcome) ? "online" : outcome);
    await showKept();
    if (outcome === "more") return send();
    if (outcome === "sent" && scanShown) scanned(scanShown.raw, scanShown.id);
    else if (outcome === "sent" && screen().dataset.version) follow(window.location.href);
    return outcome !== "refused"; // a device that was signed out looks, and is told so
  }

  let ticking = false;
  async function tick() {
    if (ticking) return;
    ticking = true;
    try {
      if (!(await send())) await look();
    } finally {
      ticking = false;
    }
  }

  // Beginning ----------------------------------------------------------------------------------------------------------

  // Loaded without network, out of the worker's store: the last screen of this station takes its place.
  async function begin() {
    if ("away" in document.body.dataset) {
      become("away");
      const asked = await Kept.page(Ahead.plain(window.location.href));
      const kept = asked || (await Kept.newestPage((one) => one.station === station));
      if (kept) showPage(kept);
    } else {
      await keepScreen(`<!doctype html>${document.documentElement.outerHTML}`, window.location.href);
    }
    await showKept();
    tick();
  }

  function typed(key) {
    if (key === "n") return pressed(key);
    return say("Nothing was done. To type a code press N first.");
  }

  function slow() {
    const setting = `“slowest scanner, ms between two keys”, now ${document.body.dataset.scanGap}`;
    say(`Nothing was done: a code came too slowly for a scanner. Shop, Stations: the manager raises ${setting}. Typed? Press N first.`);
  }

  Wedge.listen({
    onScan: scanned, onRepeat: () => Sounds.play("tick"), onCommand: pressed, onTyped: typed, onSlow: slow,
  });
  window.addEventListener("online", tick);
  setInterval(tick, POLL);
  begin();
})();
