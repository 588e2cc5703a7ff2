// Keeps the field pages that a phone has seen, as our service sent them. Where the service does not
// answer within four seconds, a page that is kept is shown, marked as saved; what is not kept waits.
const STORE = "noonfare-2";
const PATIENCE_MS = 4_000;
const PAGES_MOST = 80;
const KEPT =
  /^\/e\/[^/]+(\/(jobs|stations|show)(\/[^/]+)?|\/sheet|\/board)?$|^\/judge\/[^/]+\/[^/]+$/;
const BASICS = [
  "style.css",
  "parts.css",
  "live.css",
  "fields.css",
  "pictures.css",
  "jobs.css",
  "trouble.css",
  "day.css",
  "sheet.css",
  "show.css",
  "page.js",
  "jobs.js",
  "judge.js",
  "clock.js",
  "line.js",
  "presses.js",
  "reminders.js",
  "signal.js",
  "mark.svg",
].map((file) => `/static/${file}`);

self.addEventListener("install", (event) => {
  event.waitUntil(
    (async () => {
      const store = await caches.open(STORE);
      await Promise.all(BASICS.map((url) => fetchAndKeep(store, url)));
      await self.skipWaiting();
    })(),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      for (const name of await caches.keys()) if (name !== STORE) await caches.delete(name);
      await keepOpenPages();
    })(),
  );
});

// A page that came up while the worker began was not there to be claimed: it asks.
self.addEventListener("message", (event) => event.waitUntil(keepOpenPages()));

// Pages that are open were loaded before the worker was: keep them too.
async function keepOpenPages() {
  await self.clients.claim();
  const store = await caches.open(STORE);
  for (const client of await self.clients.matchAll({ type: "window" })) {
    const url = pageOf(client.url);
    if (KEPT.test(new URL(url).pathname)) await fetchAndKeep(store, url).catch(() => {});
  }
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== location.origin) return;
  const isStatic = /^\/static\//.test(url.pathname); // also those of an earlier release
  if (!isStatic && !KEPT.test(url.pathname)) return;
  const answer = answered(request);
  event.respondWith(request.mode === "navigate" || isStatic ? patient(request, answer) : answer);
  event.waitUntil(answer.catch(() => {})); // what comes late is kept for the next time
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(
    (async () => {
      const open = await self.clients.matchAll({ type: "window" });
      const page = open.find((c) => new URL(c.url).pathname === event.notification.data);
      await (page ? page.focus() : self.clients.openWindow(event.notification.data));
    })(),
  );
});

function pageOf(url) {
  return url.split("#")[0];
}

// A network on the way may answer in our place: only our own answers are kept.
function isOurs(answer) {
  return answer.headers.has("noonfare-now");
}

async function keep(store, url, answer) {
  if (answer.ok) await store.put(url, answer);
  else await store.delete(url); // the link has ended: nothing of it stays
  const kept = await store.keys();
  for (const old of kept.slice(0, Math.max(0, kept.length - PAGES_MOST))) await store.delete(old);
}

async function fetchAndKeep(store, url) {
  const answer = await fetch(url);
  if (isOurs(answer) && answer.ok) await store.put(url, answer);
}

async function answered(request) {
  const answer = await fetch(request);
  const ends = [401, 403, 404].includes(answer.status);
  if (isOurs(answer) && (answer.ok || ends)) {
    await keep(await caches.open(STORE), pageOf(request.url), answer.clone());
  }
  return answer;
}

async function patient(request, answer) {
  const saved = await (await caches.open(STORE)).match(pageOf(request.url));
  if (!saved) return answer;
  const late = new Promise((resolve) => {
    setTimeout(resolve, PATIENCE_MS, null);
  });
  const first = await Promise.race([answer.catch(() => null), late]);
  if (first && isOurs(first)) return first;
  return request.mode === "navigate" ? marked(saved) : saved;
}

async function marked(saved) {
  const text = await saved.text();
  const headers = new Headers(saved.headers);
  headers.delete("content-encoding"); // what is kept is unpacked
  headers.delete("content-length");
  return new Response(text.replace("<html", '<html data-saved="yes"'), { headers });
}
