// Opens the last seen job pages without a connection. It never answers for the shop while the shop answers.
// The shop writes the first line: the folder of this release.
"use strict";
importScripts(`${self.STATIC_FOLDER}kept.js`);

// With a copy at hand, nobody stands in a cellar for longer than this before a silent line.
const PATIENCE_MILLISECONDS = 8000;
// A busy phone may refuse to read a copy: it is asked for again after these.
const PAUSES_MILLISECONDS = [0, 200, 800];
const ENTRY = /^\/jobs\/(\d+)\/record\/(\w+)\/$/;
const OF_A_JOB = /^\/jobs\/(\d+)\/[\w/-]+\/$/;

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) =>
  event.waitUntil(Promise.all([self.clients.claim(), Kept.dropOldAssets()])),
);

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "POST") posting(event, request, url);
  else if (request.mode === "navigate") event.respondWith(opened(event, request, url));
  else if (url.pathname.startsWith("/static/")) event.respondWith(asset(request));
});

// What a page wants kept, one after the other.
let keeping = Promise.resolve();
self.addEventListener("message", (event) => {
  const { path, html, askedAt } = event.data;
  const keep = () => (path === Kept.OFFLINE ? Kept.keepOfflinePage() : Kept.keepCopy(path, html, askedAt));
  keeping = keeping.then(keep).catch(() => undefined);
  event.waitUntil(keeping);
});

function posting(event, request, url) {
  if (url.pathname === "/sign-out/") event.waitUntil(Kept.dropCopies());
  const byHand = request.mode === "navigate" || request.headers.has("HX-Request");
  // Pictures go by themselves: nobody copies a film to find out that the line is down.
  if (byHand && OF_A_JOB.test(url.pathname) && !url.pathname.includes("/photos/")) {
    event.respondWith(posted(request, url));
  }
}

async function opened(event, request, url) {
  const path = url.pathname;
  const askedAt = Date.now();
  const copy = Kept.JOB_PAGE.test(path) ? await Kept.copyOf(path).catch(() => undefined) : undefined;
  try {
    const answer = await fetch(request, copy ? { signal: AbortSignal.timeout(PATIENCE_MILLISECONDS) } : {});
    // Who is shown the sign-in page is signed in no longer.
    if (answer.ok && path === "/sign-in/") event.waitUntil(Kept.dropCopies());
    else if (answer.ok && Kept.JOB_PAGE.test(path) && !url.search) {
      const seen = answer.clone();
      event.waitUntil(seen.text().then((html) => Kept.keepCopy(path, html, askedAt)));
    }
    return answer;
  } catch {
    return copy ? marked(copy) : withoutConnection(url);
  }
}

async function marked(copy) {
  const keptAt = Number(copy.headers.get("X-Kept-At"));
  const line = `<p class="copy-line" role="status" data-kept-at="${keptAt}"><span>${Kept.ageSentence(keptAt)}</span>
    <a href="">Try again</a> <a href="${Kept.OFFLINE}">Write something for later</a></p>`;
  const html = (await copy.text()).replace(/<main id="main"[^>]*>/, (main) => `${main}${line}`);
  return Kept.page(html, keptAt);
}

async function withoutConnection(url) {
  for (const pause of PAUSES_MILLISECONDS) {
    await new Promise((resolve) => setTimeout(resolve, pause));
    const kept = await Kept.copyOf(Kept.OFFLINE).catch(() => undefined);
    if (kept) return kept;
  }
  const words = "The shop does not answer. Whether mains is on is not known: treat every unit as live.";
  const said = Kept.SAID[url.searchParams.get("said")] ?? "";
  const page = `<title>No connection</title><h1>No connection</h1><p id="said">${said}</p><p>${words}</p>`;
  return Kept.page(`<!doctype html><html lang="en">${page}`, 0);
}

async function posted(request, url) {
  const entry = url.pathname.match(ENTRY);
  const typed = entry && entry[2] in Kept.FIELDS ? request.clone() : null;
  try {
    return await fetch(request);
  } catch {
    const said = typed ? await kept(typed, entry) : url.pathname.endsWith("/power/") ? "mains" : "nothing";
    return sentTo(request, `${Kept.OFFLINE}?said=${said}&job=${url.pathname.match(OF_A_JOB)[1]}`);
  }
}

async function kept(typed, [, number, kind]) {
  try {
    await Kept.keepEntry(number, kind, Object.fromEntries(await typed.formData()));
    return "kept";
  } catch {
    return "nothing";
  }
}

function sentTo(request, address) {
  if (request.headers.has("HX-Request")) return new Response("", { headers: { "HX-Redirect": address } });
  return Response.redirect(address, 303);
}

async function asset(request) {
  try {
    return await fetch(request);
  } catch (error) {
    const known = await Kept.assetOf(request.url);
    if (known) return known;
    throw error;
  }
}

// A message of the shop, shown also while no page is open; a tap opens the job.
self.addEventListener("push", (event) => {
  const { title, body, path, urgent } = event.data.json();
  const shown = {
    body,
    data: { path },
    tag: path,
    renotify: true,
    requireInteraction: urgent,
    icon: `${Kept.FOLDER}mark-192.png`,
  };
  event.waitUntil(self.registration.showNotification(title, shown));
});

self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(opens(event.notification.data.path));
});

async function opens(path) {
  const url = new URL(path, self.location.origin).href;
  const windows = await self.clients.matchAll({ type: "window" });
  const open = windows.find((one) => one.url === url);
  return open ? open.focus() : self.clients.openWindow(url);
}
