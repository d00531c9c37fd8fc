// Keeps one page, with its style and script, for when there is no connection. The page kept names nobody.
// Its reach is the page that registered it: nothing else of the site is ever kept or answered from here.
const PAGE = new URL(self.registration.scope).pathname;
const STORE = `thenar-counting ${PAGE}`;
const PATIENCE = 5000; // milliseconds

async function gather() {
  const page = await fetch(`${PAGE}?offline`, { cache: "no-store", credentials: "same-origin" });
  if (!page.ok || page.redirected) throw new Error("The page could not be fetched.");
  const store = await caches.open(STORE);
  const html = await page.clone().text();
  const parts = [...html.matchAll(/(?:href|src)="(\/static\/[^"]+)"/g)].map((found) => found[1]);
  for (const part of new Set(parts)) {
    const got = await fetch(part, { cache: "no-cache" });
    if (!got.ok) throw new Error(part);
    if (part.endsWith(".css")) await keepFonts(store, got);
    await store.put(part, got);
  }
  await store.put(PAGE, page);
}

async function keepFonts(store, style) {
  const words = await style.clone().text();
  for (const [, name] of words.matchAll(/url\("([^"]+\.woff2)"\)/g)) {
    const address = new URL(name, style.url).pathname;
    if (!(await store.match(address))) await store.add(address);
  }
}

// A page that is slow to come is as good as none: the observer stands in a corridor.
async function fromNetElseKept(request, kept) {
  const store = await caches.open(STORE);
  const slow = new Promise((_, refuse) => setTimeout(() => refuse(new Error("slow")), PATIENCE));
  try {
    const got = await Promise.race([fetch(request), slow]);
    if (got.status < 500) return got;
  } catch {
    // no connection, or too slow a one
  }
  return (await store.match(kept)) ?? Response.error();
}

self.addEventListener("install", (event) => event.waitUntil(gather().then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("message", (event) => event.waitUntil(gather().catch(() => {})));
self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== self.location.origin) return;
  const isPage = event.request.mode === "navigate" && pathname === PAGE;
  if (isPage || pathname.startsWith("/static/")) event.respondWith(fromNetElseKept(event.request, pathname));
});
