// Keeps the crew's pages that were open once, so that they open again without connection. Only for the line check and the pages of cables,
// and only where the browser takes the address for secure: over https, or on the machine itself. What is tapped waits elsewhere (crew.js).

const KEPT = `crew${self.location.search}`;
const isCrew = (path) => path === "/linecheck" || path.startsWith("/linecheck/") || path.startsWith("/c/");

self.addEventListener("install", (event) => event.waitUntil(self.skipWaiting()));
self.addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (name.startsWith("crew") && name !== KEPT) await caches.delete(name);
  await self.clients.claim();
})()));

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (event.request.mode === "navigate" && isCrew(url.pathname)) event.respondWith(page(event.request));
  else if (url.pathname.startsWith("/assets/")) event.respondWith(asset(event.request));
});

// The network first: what is shown must be as new as can be.
async function page(request) {
  const cache = await caches.open(KEPT);
  try {
    const answer = await fetch(request);
    if (answer.ok && !answer.redirected) await cache.put(request.url, answer.clone());
    return answer;
  } catch {
    const kept = await cache.match(request.url) ?? await cache.match(request.url, { ignoreSearch: true });
    return kept ? asKept(kept) : none();
  }
}

// Assets carry their version in the address: the same address is the same text.
async function asset(request) {
  const cache = await caches.open(KEPT);
  const kept = await cache.match(request.url);
  if (kept) return kept;
  const answer = await fetch(request);
  if (answer.ok) await cache.put(request.url, answer.clone());
  return answer;
}

const kind = { headers: { "content-type": "text/html; charset=utf-8" } };
async function asKept(answer) {
  const says = "No connection. This is the page as it was when it last had one. Tap on: it is kept on this phone and sent later.";
  return new Response((await answer.text()).replace("<main", `<aside id="kept" role="status"><p>${says}</p></aside><main`), kind);
}
const none = () => new Response(
  '<!doctype html><html lang="en"><meta name="viewport" content="width=device-width"><title>No connection</title>' +
  '<h1>No connection</h1><p>This page was not open on this phone before. Nothing that you tapped is lost.</p>' +
  '<p><a href="/linecheck">To the line check</a></p></html>', { ...kind, status: 503 });
