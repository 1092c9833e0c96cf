// The station page: a scan or a press goes to the server, the screen that it answers with takes the old one's place.
//
// Every screen is a whole page of the server, so that without this script the same links and forms still work. A form
// with `data-keeps` may wait: without network its act is kept on this device (kept.js) and sent when the network is back,
// in order. Once something waits, everything that can be kept goes behind it.
"use strict";

(() => {
  const DEAD = 400; // ms after a change of screen in which the main act does nothing: nobody has read it yet
  const POLL = 1500; // ms between two looks for what others have done, and between two tries to send
  const LOOK_ANYWAY = 30000; // ms after which a screen is asked for even if nobody has moved anything
  const PATIENCE = 10000; // ms until an answer is no longer waited for
  const SOON = 4000; // ms until an act is kept instead of waited for: sent again it counts once
  const NO_ENTRY = { 401: "nobody", 403: "refused" };
  const AHEAD = 1000; // ms after a screen until the questions that it leads to are fetched for later
  const NEEDS = "This needs the network. Try again when it is back; scans and counts are kept meanwhile.";
  const NOT_KEPT = "Not kept: this browser has no room left or may not store anything. Nothing was counted. Write it down and tell the office.";

  const station = document.body.dataset.station;
  const screen = () => document.getElementById("screen");
  const person = () => document.querySelector(".st-person");
  const said = document.getElementById("said");
  const here = new URL(window.location.href).pathname;

  let changedAt = performance.now();
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

  // The address of a screen without what is only for one showing.
  function plainAddress(address) {
    const plain = new URL(address, window.location.href);
    for (const name of ["sound", "seen"]) plain.searchParams.delete(name);
    return plain.pathname + plain.search;
  }

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
    Away.showBar(Away.barWords(state, acts, since, shownOf), state);
    Away.showClashes(await Kept.clashes());
  }

  // Screens ------------------------------------------------------------------------------------------------------------

  function put(next, { quietly = false } = {}) {
    screen().replaceWith(document.adoptNode(next));
    said.textContent = next.dataset.said || "";
    changedAt = lookedAt = performance.now();
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

  const sheetOf = (node) => node.querySelector("[data-sheet]")?.dataset.sheet || "";

  // Keeps a screen as it came from the server, for when it is asked for without network.
  async function keepScreen(page, address) {
    const { row, left, done, due, most } = screen().dataset;
    if (left !== undefined) await Kept.keepRow({ row, left: Number(left), done: Number(done), due: Number(due), most: Number(most ?? left) });
    const query = new URL(address, window.location.href).searchParams;
    if (new URL(address, window.location.href).pathname !== here) return;
    const [of, asks] = [query.get("order") || "", query.has("ask")];
    await Kept.keepPage({ address: plainAddress(address), station, of: `${station} ${of}`, row: row || "", sheet: sheetOf(screen()), ahead: aheadOf(screen()), asks, page });
    fetchAhead(`${station} ${of}`, screen());
  }

  // Where a screen leads, and where these screens lead, as far as it can be asked without network too.
  const aheadOf = (node) => [...node.querySelectorAll("a[data-ahead]")].map((link) => plainAddress(link.getAttribute("href")));

  // Fetches the questions that a screen leads to, each once, so that they can be asked without network. What is kept
  // already is followed all the same: the screen may have been left before all behind it was fetched.
  async function fetchAhead(of, from) {
    await new Promise((done) => setTimeout(done, AHEAD));
    const wanted = new Set([here, ...aheadOf(document)]);
    for (const address of wanted) {
      if (screen() !== from || state !== "online") return;
      const kept = (await Kept.page(address)) || (await fetchPage(address, of));
      for (const next of kept?.ahead || []) wanted.add(next);
    }
  }

  // Keeps a screen that was not shown here yet, and returns it; null where there is none.
  async function fetchPage(address, of) {
    const answer = await fetch(address, { signal: AbortSignal.timeout(PATIENCE) }).catch(() => null);
    if (!answer?.ok || answer.redirected) return null;
    const page = await answer.text();
    const next = new DOMParser().parseFromString(page, "text/html").getElementById("screen");
    if (!next) return null;
    const asks = new URL(address, window.location.href).searchParams.has("ask");
    const kept = { address, station, of, row: next.dataset.row || "", sheet: sheetOf(next), ahead: aheadOf(next), asks, page };
    await Kept.keepPage(kept);
    return kept;
  }

  // The screen of an address as it was kept; of an order's row also where it had another address.
  async function keptPage(address) {
    const plain = plainAddress(address);
    const query = new URL(plain, window.location.href).searchParams;
    const [of, pick] = [`${station} ${query.get("order") || ""}`, query.get("pick")];
    const fits = (one) => one.of === of && (!pick || one.row.endsWith(`-${pick}`));
    return (await Kept.page(plain)) || (query.has("ask") ? undefined : Kept.newestPage(fits));
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
      const kept = await keptPage(address);
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
      Away.refuse(screen(), NOT_KEPT);
      Sounds.play("unknown");
      return;
    }
    if (id) id.value = ""; // the next press is another act
    if (kind === "scan") await showScanned(act);
    else await afterCount(kind);
    await showKept();
  }

  async function afterCount(kind) {
    const back = screen().querySelector('a[data-key="Escape"]');
    const kept = back && (await keptPage(back.href));
    if (kept) showPage(kept);
    Sounds.play(kind === "count" ? "tick" : "accepted");
    said.textContent = "Kept here.";
    changedAt = performance.now();
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
    const named = `[data-key="${CSS.escape(key)}"]`;
    const target = screen().querySelector(named) || document.querySelector(`.st-rail ${named}`);
    if (target) target.click();
    return Boolean(target);
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.target || form.method !== "post" || form.closest("#screen") === null) return;
    event.preventDefault();
    if (form.dataset.act === "main" && performance.now() - changedAt < DEAD) return;
    post(form, event.submitter);
  });

  document.addEventListener("click", (event) => {
    const link = event.target.closest("#screen a[href], .st-rail a[href]");
    if (!link || link.target || event.ctrlKey || event.metaKey || event.shiftKey) return;
    event.preventDefault();
    if (link.dataset.act === "main" && performance.now() - changedAt < DEAD) return;
    follow(link.href);
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

  function clock() {
    const time = new Date();
    const two = (number) => String(number).padStart(2, "0");
    document.getElementById("clock").textContent = `${two(time.getHours())}:${two(time.getMinutes())}`;
  }

  // Beginning ----------------------------------------------------------------------------------------------------------

  // Loaded without network, out of the worker's store: the last screen of this station takes its place.
  async function begin() {
    if ("away" in document.body.dataset) {
      become("away");
      const asked = await Kept.page(plainAddress(window.location.href));
      const kept = asked || (await Kept.newestPage((one) => one.station === station));
      if (kept) showPage(kept);
    } else {
      await keepScreen(`<!doctype html>${document.documentElement.outerHTML}`, window.location.href);
    }
    await showKept();
    tick();
  }

  // Only over https or on this machine; elsewhere a reload without network shows nothing, but what is kept stays kept.
  async function register() {
    await navigator.serviceWorker.register(document.body.dataset.worker, { scope: "/station/" });
    const { active } = await navigator.serviceWorker.ready;
    const files = performance.getEntriesByType("resource").map((one) => one.name);
    active.postMessage({ keep: [window.location.href, ...files] });
  }

  Wedge.listen({ onScan: scanned, onRepeat: () => Sounds.play("tick"), onCommand: pressed });
  window.addEventListener("blur", () => document.body.classList.add("is-deaf"));
  window.addEventListener("focus", () => document.body.classList.remove("is-deaf"));
  document.body.classList.toggle("is-deaf", !document.hasFocus());
  window.addEventListener("online", tick);
  setInterval(tick, POLL);
  setInterval(clock, 1000);
  clock();
  begin();
  if (navigator.serviceWorker) register().catch(() => {});
  navigator.storage?.persist?.().catch(() => {});
})();
