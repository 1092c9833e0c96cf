// What a station keeps while there is no network: acts that are still to be sent, screens that were seen, and what the
// server did not take.
//
// All of it lies in IndexedDB. An act is kept only when its transaction is complete with strict durability, which waits
// until the disk has it; localStorage is written some seconds later, so a battery that dies would take acts with it that
// the screen had acknowledged. Where the storage is full or forbidden `add` rejects, and nothing is acknowledged.
"use strict";

const Kept = (() => {
  const NAME = "blockyard-station";
  const BATCH = 40; // acts that are sent at once, in their order
  const PATIENCE = 20000; // ms until an answer to a batch is no longer waited for
  const SHEETS = 30; // orders and plans whose screens are kept

  let opened = null;

  function open() {
    opened ??= new Promise((resolve, reject) => {
      const request = indexedDB.open(NAME, 1);
      request.onupgradeneeded = () => {
        const base = request.result;
        base.createObjectStore("acts", { keyPath: "seq", autoIncrement: true });
        base.createObjectStore("clashes", { keyPath: "id" });
        base.createObjectStore("pages", { keyPath: "address" });
        base.createObjectStore("codes", { keyPath: "code" });
        base.createObjectStore("rows", { keyPath: "row" });
      };
      request.onsuccess = () => resolve(request.result);
      request.onerror = request.onblocked = () => reject(request.error);
    });
    opened.catch(() => (opened = null)); // asked again next time: the person may have made room
    return opened;
  }

  // Runs `work(store…)` in one transaction; resolves with the result of the request that it returns once all is on disk.
  async function inOne(names, mode, work) {
    const base = await open();
    return new Promise((resolve, reject) => {
      const transaction = base.transaction(names, mode, { durability: "strict" });
      const request = work(...names.map((name) => transaction.objectStore(name)));
      transaction.oncomplete = () => resolve(request?.result);
      transaction.onabort = transaction.onerror = () => reject(transaction.error || request?.error);
    });
  }

  const read = (name, what) => inOne([name], "readonly", what);
  const write = (name, what) => inOne([name], "readwrite", what);

  // Acts -------------------------------------------------------------------------------------------------------------

  // Resolves when the act is on disk: only then may the screen say that it is kept.
  const add = (act) => write("acts", (acts) => acts.add(act));

  // In the order in which they were done; none where the browser stores nothing.
  const acts = () => read("acts", (all) => all.getAll()).catch(() => []);
  const clashes = () => read("clashes", (all) => all.getAll()).catch(() => []);
  const dropClash = (id) => write("clashes", (all) => all.delete(id));

  // Takes out what was answered, and keeps what was not taken until a person has seen it.
  function answered(batch, replies) {
    const byId = new Map(replies.map((reply) => [reply.id, reply]));
    return inOne(["acts", "clashes"], "readwrite", (waiting, refused) => {
      for (const act of batch) {
        const reply = byId.get(act.id);
        if (!reply) continue;
        waiting.delete(act.seq);
        if (reply.state === "clash") refused.put({ ...reply, kind: act.kind, at: act.at });
      }
    });
  }

  const cookie = (name) => document.cookie.split("; ").find((one) => one.startsWith(`${name}=`))?.slice(name.length + 1);

  // Returns "nothing", "sent", "more" (sent, and there is more), or why not: "away", "fault", "signed-out", "refused".
  async function sendBatch() {
    const waiting = await acts();
    if (!waiting.length) return "nothing";
    const other = waiting.findIndex((act) => act.station !== waiting[0].station);
    const batch = waiting.slice(0, Math.min(BATCH, other < 0 ? BATCH : other));
    const body = JSON.stringify({ now: Date.now(), acts: batch });
    const headers = { "Content-Type": "application/json", "X-CSRFToken": cookie("csrftoken") || "" };
    let answer;
    let replies;
    try {
      const signal = AbortSignal.timeout(PATIENCE);
      answer = await fetch(batch[0].address, { method: "POST", headers, body, redirect: "manual", signal });
      if (answer.ok) replies = (await answer.json()).replies;
    } catch {
      return "away";
    }
    if (answer.type === "opaqueredirect") return "signed-out";
    if (answer.status >= 500) return "fault";
    if (!replies) return "refused";
    await answered(batch, replies);
    return batch.length < waiting.length ? "more" : "sent";
  }

  // Sends what is kept. One tab of a browser sends at a time; where there are no locks, ids keep a double from counting.
  function send() {
    if (!navigator.locks) return sendBatch();
    return navigator.locks.request(NAME, { ifAvailable: true }, (lock) => (lock ? sendBatch() : "nothing"));
  }

  // Screens ----------------------------------------------------------------------------------------------------------

  // `of` is the order to which a screen belongs; of the orders seen least lately all screens go.
  async function keepPage(page) {
    await write("pages", (pages) => {
      pages.put({ ...page, at: Date.now() });
      const asked = pages.getAll();
      asked.onsuccess = () => {
        const latest = new Map();
        for (const one of asked.result) latest.set(one.of, Math.max(one.at, latest.get(one.of) || 0));
        const kept = new Set([...latest].sort((one, other) => other[1] - one[1]).slice(0, SHEETS).map(([of]) => of));
        for (const one of asked.result) if (!kept.has(one.of)) pages.delete(one.address);
      };
    }).catch(() => {}); // a screen that is not kept is only not there without network
  }

  const page = (address) => read("pages", (pages) => pages.get(address)).catch(() => undefined);
  const dropPage = (address) => write("pages", (pages) => pages.delete(address)).catch(() => {});

  // The newest of the screens that fit; a question is not a screen of work.
  async function newestPage(fits) {
    const pages = await read("pages", (all) => all.getAll()).catch(() => []);
    return pages.filter((one) => !one.asks && fits(one)).sort((one, other) => other.at - one.at)[0];
  }

  // A saw sheet, a tag or a bundle: the code itself does not say to which order it led.
  const keepCode = (code, of) => write("codes", (codes) => codes.put({ code, of })).catch(() => {});

  // Returns {page} of what a code was last seen to lead to, or {newer}: the screen of the same order with another letter.
  async function pageOfCode(code, station) {
    const order = /^BY\d+(?=[A-Z])/.exec(code)?.[0];
    if (!order) {
      const known = await read("codes", (codes) => codes.get(code)).catch(() => undefined);
      return { page: known && (await newestPage((one) => one.of === known.of && one.station === station)) };
    }
    const ofOrder = (one) => one.station === station && one.sheet.startsWith(order) && /^[A-Z]/.test(one.sheet.slice(order.length));
    const page = await newestPage(ofOrder);
    // what follows the letter is the number of a line, if any, and the check character
    const isInForce = page && code.startsWith(page.sheet) && /^\d*.$/.test(code.slice(page.sheet.length));
    return isInForce ? { page } : { newer: page };
  }

  // The last figures of the server for a row of blanks or pieces: {row, left, done, due}.
  const keepRow = (row) => write("rows", (rows) => rows.put(row)).catch(() => {});
  const row = (name) => read("rows", (rows) => rows.get(name)).catch(() => undefined);

  return {
    add, acts, clashes, dropClash, send, keepPage, page, dropPage, newestPage, keepCode, pageOfCode, keepRow, row,
  };
})();
