// Screens that were shown, and the questions that they lead to, kept for when they are asked for without network.
"use strict";

const Ahead = (() => {
  const LATER = 1000; // ms after a screen until the questions that it leads to are fetched
  const PATIENCE = 10000; // ms until one of them is no longer waited for
  const { station } = document.body.dataset;
  const here = window.location.pathname;

  const of = (query) => `${station} ${query.get("order") || ""}`;
  const queryOf = (address) => new URL(address, window.location.href).searchParams;
  const sheetOf = (screen) => screen.querySelector("[data-sheet]")?.dataset.sheet || "";

  // The address of a screen without what is only for one showing.
  function plain(address) {
    const bare = new URL(address, window.location.href);
    for (const name of ["sound", "seen"]) bare.searchParams.delete(name);
    return bare.pathname + bare.search;
  }

  // Where a screen leads, and where these screens lead, as far as it can be asked without network too.
  const leadsTo = (node) => [...node.querySelectorAll("a[data-ahead]")].map((link) => plain(link.getAttribute("href")));

  async function keepPage(address, belongsTo, screen, page) {
    const kept = {
      address, station, of: belongsTo, row: screen.dataset.row || "", sheet: sheetOf(screen), ahead: leadsTo(screen),
      asks: queryOf(address).has("ask"), page,
    };
    await Kept.keepPage(kept);
    return kept;
  }

  // Keeps a screen as it came from the server, and while `isWanted()` the questions that it leads to.
  async function keep(page, address, screen, isWanted) {
    const { row, left, done, due, most } = screen.dataset;
    if (left !== undefined) await Kept.keepRow({ row, left: Number(left), done: Number(done), due: Number(due), most: Number(most ?? left) });
    if (new URL(address, window.location.href).pathname !== here) return;
    const belongsTo = of(queryOf(address));
    await keepPage(plain(address), belongsTo, screen, page);
    fetchAll(belongsTo, isWanted);
  }

  // Each question once. What is kept already is followed all the same: the screen may have been left before all behind
  // it was fetched.
  async function fetchAll(belongsTo, isWanted) {
    await new Promise((done) => setTimeout(done, LATER));
    const wanted = new Set([here, ...leadsTo(document)]);
    for (const address of wanted) {
      if (!isWanted()) return;
      const kept = (await Kept.page(address)) || (await fetchPage(address, belongsTo));
      for (const next of kept?.ahead || []) wanted.add(next);
    }
  }

  // Keeps a screen that was not shown here yet, and returns it; null where there is none.
  async function fetchPage(address, belongsTo) {
    const answer = await fetch(address, { signal: AbortSignal.timeout(PATIENCE) }).catch(() => null);
    if (!answer?.ok || answer.redirected) return null;
    const page = await answer.text();
    const screen = new DOMParser().parseFromString(page, "text/html").getElementById("screen");
    return screen && keepPage(address, belongsTo, screen, page);
  }

  // The screen of an address as it was kept; of an order's row also where it had another address.
  async function find(address) {
    const query = queryOf(address);
    const [belongsTo, pick] = [of(query), query.get("pick")];
    const fits = (one) => one.of === belongsTo && (!pick || one.row.endsWith(`-${pick}`));
    return (await Kept.page(plain(address))) || (query.has("ask") ? undefined : Kept.newestPage(fits));
  }

  return { keep, find, plain };
})();
