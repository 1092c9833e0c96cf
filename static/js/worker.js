// The service worker of the stations: a station that is loaded again without network shows what was seen there last.
//
// The server puts VERSION and FILES (where static files lie) before this text. The network comes first; only where it
// does not answer a page of a station or a static file comes out of the store, which is made anew with each version.
// Nothing else is answered here, and no POST is ever kept.
"use strict";

const STORE = `station-${VERSION}`;
const STATION = /^\/station\/(?!live\/)[\w-]+\/$/; // `live`, which tells of news, is no page
const PATIENCE = 4000; // ms until what is in the store is shown, where it is there

self.addEventListener("install", () => self.skipWaiting());

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) if (name !== STORE) await caches.delete(name);
      await self.clients.claim();
    })(),
  );
});

const isFile = (address) => address.origin === self.location.origin && address.pathname.startsWith(FILES);
const isStation = (address) => address.origin === self.location.origin && STATION.test(address.pathname);

// The page tells what it is made of, since it was loaded before this worker was there.
self.addEventListener("message", (event) => {
  const wanted = event.data.keep.map((text) => new URL(text)).filter((address) => isFile(address) || isStation(address));
  event.waitUntil(
    (async () => {
      const store = await caches.open(STORE);
      for (const address of wanted) {
        const key = isFile(address) ? address.href : address.pathname;
        if (!(await store.match(key))) await fetchInto(store, key, new Request(key)).catch(() => {});
      }
    })(),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  const address = new URL(request.url);
  if (isFile(address)) event.respondWith(answer(request, address.href));
  else if (request.mode === "navigate" && isStation(address)) event.respondWith(answer(request, address.pathname));
});

async function fetchInto(store, key, request) {
  const fresh = await fetch(request);
  if (fresh.ok && !fresh.redirected) await store.put(key, fresh.clone());
  return fresh;
}

async function answer(request, key) {
  const store = await caches.open(STORE);
  const kept = await store.match(key);
  const late = new Promise((_, reject) => kept && setTimeout(() => reject(new Error("late")), PATIENCE));
  try {
    const fresh = await Promise.race([fetchInto(store, key, request), late]);
    if (fresh.status < 500 || !kept) return fresh;
  } catch (error) {
    if (!kept) throw error;
  }
  return request.mode === "navigate" ? marked(kept) : kept;
}

// A page that says of itself that it comes out of the store.
async function marked(page) {
  const text = (await page.text()).replace("<body ", "<body data-away ");
  return new Response(text, { headers: page.headers });
}
