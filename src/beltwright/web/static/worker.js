// The service worker: pages the phone took along, for when there is no signal. The outbox is none of its business, so
// that no update of it can lose a note. VERSION and CARRIED stand above: the mark of this version and its files.
//
// Static files are kept by version. Pages are kept apart; when a new version takes over, they are fetched anew first,
// and the files of the old version go only when no page is left that needs them.

const FILES = `files-${VERSION}`;
const PAGES = "pages";
const PATIENCE = 4000;
const HELD = /^\/(?:$|round|jobs\/[0-9a-f-]{36}$|drives\/|waiting$|no-signal$)/;

const page = (address) => new Request(address, { headers: { Accept: "text/html" }, credentials: "same-origin" });

const take = async (addresses) => {
  const pages = await caches.open(PAGES);
  let whole = true;
  for (const address of addresses) {
    const answer = await fetch(page(address), { redirect: "follow" }).catch(() => null);
    // a phone without room keeps what it holds and says so
    if (answer?.ok && !answer.redirected) await pages.put(address, answer).catch(() => { whole = false; });
    else whole = false;
  }
  return whole;
};

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    await (await caches.open(FILES)).addAll(CARRIED);
    await take(["/waiting", "/no-signal"]);
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    await self.clients.claim();
    const pages = await caches.open(PAGES);
    const whole = await take((await pages.keys()).map((asked) => asked.url));
    if (!whole) return;
    for (const name of await caches.keys()) if (name.startsWith("files-") && name !== FILES) await caches.delete(name);
  })());
});

self.addEventListener("message", (event) => {
  if (!Array.isArray(event.data?.take)) return;
  const wanted = event.data.take.filter((address) => address.startsWith("/"));
  event.waitUntil((async () => {
    await take(wanted);
    const pages = await caches.open(PAGES);
    const found = await Promise.all(wanted.map((address) => pages.match(address)));
    event.ports[0]?.postMessage({ whole: found.every(Boolean) });
  })());
});

const soon = (asked) => fetch(asked, { signal: AbortSignal.timeout(PATIENCE) });

const showPage = async (request) => {
  const { pathname, search } = new URL(request.url);
  const pages = await caches.open(PAGES);
  try {
    const answer = await soon(request);
    if (answer.ok && answer.type === "basic" && !answer.redirected && HELD.test(pathname) && !/[?&](noted|mend)=/.test(search)) {
      // steps of a job, and a form for another step, are one page
      const bare = pathname.startsWith("/jobs/") || pathname.includes("/readings/");
      if (!bare || !search) await pages.put(bare ? pathname : pathname + search, answer.clone()).catch(() => {});
    }
    return answer;
  } catch {
    return (await pages.match(request)) ?? (await pages.match(pathname)) ?? (await pages.match("/no-signal")) ?? Response.error();
  }
};

// the address on a label leads to the page of its drive, as the server would
const scanned = async (request) => {
  try {
    return await soon(request);
  } catch {
    const loose = (text) => decodeURIComponent(text).toLowerCase().replace(/[^\p{L}\p{N}]/gu, "");
    const tag = loose(new URL(request.url).pathname.slice(3));
    const pages = await caches.open(PAGES);
    const found = (await pages.keys()).find((asked) => {
      const [, room, drive, more] = new URL(asked.url).pathname.split("/");
      return room === "drives" && more === undefined && loose(drive) === tag;
    });
    return (found && (await pages.match(found))) ?? (await pages.match("/no-signal")) ?? Response.error();
  }
};

const showFile = async (request) => {
  const marked = new URL(request.url).search !== "";
  const kept = await caches.match(request);
  if (marked && kept) return kept;
  try {
    return await soon(request);
  } catch {
    return kept ?? Response.error();
  }
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (origin !== self.location.origin) return;
  if (request.method === "POST" && pathname === "/log-out") {
    // pages of the plant go with whoever logs out; the notes stay
    event.waitUntil(caches.open(PAGES).then(async (pages) => {
      for (const asked of await pages.keys()) if (!/\/(?:waiting|no-signal)$/.test(asked.url)) await pages.delete(asked);
    }));
    return;
  }
  if (request.method !== "GET") return;
  if (pathname.startsWith("/static/")) event.respondWith(showFile(request));
  else if (request.mode === "navigate" && pathname.startsWith("/d/")) event.respondWith(scanned(request));
  else if (request.mode === "navigate") event.respondWith(showPage(request));
});
