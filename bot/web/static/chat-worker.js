/* The chat's service worker: opens the page without signal, and sends what waits when there is
   some again, the page being open or not. KEEP stands before this text: see bot/web/chat_kept.py. */
"use strict";

importScripts(KEEP.store);
const PATIENCE = 4000;

self.addEventListener("install", (event) => {
  const held = caches.open(KEEP.name).then((cache) => cache.addAll([...KEEP.pages, ...KEEP.files]));
  event.waitUntil(held.then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = caches.keys().then((names) =>
    Promise.all(names.filter((name) => name !== KEEP.name).map((name) => caches.delete(name))));
  event.waitUntil(old.then(() => self.clients.claim()));
});

async function page(request, path) {
  const cache = await caches.open(KEEP.name);
  const fresh = fetch(request).then(async (answer) => {
    if (answer.ok && !answer.redirected) await cache.put(path, answer.clone());
    return answer;
  });
  /* Too late, not at all, or a fault of the other side's: what was seen last is better. */
  const late = new Promise((done) => setTimeout(done, PATIENCE));
  const first = await Promise.race([fresh, late]).catch(() => null);
  return first && first.status < 500 ? first : (await cache.match(path)) || fresh;
}

self.addEventListener("fetch", (event) => {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== location.origin) return;
  if (event.request.mode === "navigate") {
    if (KEEP.pages.includes(address.pathname)) event.respondWith(page(event.request, address.pathname));
  } else if (KEEP.files.includes(address.pathname + address.search)) {
    event.respondWith(caches.match(event.request).then((held) => held || fetch(event.request)));
  }
});

self.addEventListener("sync", (event) => {
  const tell = async () => {
    for (const client of await self.clients.matchAll()) client.postMessage("sent");
  };
  if (event.tag === "send") event.waitUntil(store.send(tell));
});
