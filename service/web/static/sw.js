// Keeps the pages a phone has seen: the network first, for four seconds, then the saved copy.
const STORE = "noonfare-1";
const BASICS = [
  "style.css",
  "parts.css",
  "pictures.css",
  "jobs.css",
  "day.css",
  "page.js",
  "mark.svg",
].map((file) => `/static/${file}`);

self.addEventListener("install", (event) => {
  event.waitUntil(
    caches
      .open(STORE)
      .then((c) => c.addAll(BASICS))
      .then(() => self.skipWaiting()),
  );
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    (async () => {
      await self.clients.claim();
      // The page that is open was loaded before the worker was: keep it too.
      const store = await caches.open(STORE);
      for (const client of await self.clients.matchAll({ type: "window" })) {
        await store.add(client.url).catch(() => {});
      }
    })(),
  );
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (
    request.method !== "GET" ||
    url.origin !== location.origin ||
    url.pathname.startsWith("/l/") ||
    url.pathname.endsWith("/live")
  )
    return;
  event.respondWith(answer(request));
});

async function answer(request) {
  const store = await caches.open(STORE);
  try {
    const fresh = await fetch(request, { signal: AbortSignal.timeout(4000) });
    if (fresh.ok && !fresh.redirected) await store.put(request, fresh.clone());
    return fresh;
  } catch (error) {
    const saved = await store.match(request);
    if (saved) return marked(saved, request);
    throw error;
  }
}

async function marked(saved, request) {
  if (request.mode !== "navigate") return saved;
  const at = new Date(saved.headers.get("date") ?? Date.now());
  const clock = at.toTimeString().slice(0, 5);
  const text = await saved.text();
  const line = `<p class="link">No signal. Plan saved ${clock}.</p>`;
  return new Response(text.replace(/<main/, `${line}<main`), { headers: saved.headers });
}
