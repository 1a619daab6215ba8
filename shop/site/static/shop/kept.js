// What this browser keeps of the shop: copies of job pages, and entries typed without a connection.
// The pages and the service worker share it.
"use strict";
// biome-ignore lint/correctness/noUnusedVariables: the scripts that load this one use it
const Kept = (() => {
  const COPIES = "copies-1";
  const ASSETS = "assets-1";
  const MOST_COPIES = 20;
  const FRESH_MILLISECONDS = 3600e3;
  const OFFLINE = "/offline/";
  const JOB_PAGE = /^\/jobs\/(\d+)\/(?:(?:list|unit|parts|causes)\/)?$/;
  // Entries that may wait. Signatures, mains, cover and stages never do.
  const FIELDS = {
    note_added: ["text"],
    finding_recorded: ["finding", "section", "note"],
    reading_taken: ["quantity", "value", "unit", "note"],
  };
  // A copy runs our scripts and sends nothing.
  const POLICY =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; " +
    "connect-src 'self'; manifest-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'";
  // What came of a tap that nobody answered.
  const SAID = {
    kept: "There is no connection. What you typed is kept on this phone; send it when you are back.",
    mains:
      "There is no connection: that mains is off could not be recorded. What counts is the plug: pull it, see that " +
      "it is out, and record it again when you are back.",
    nothing:
      "There is no connection: nothing was recorded. Signatures, mains, cover and moves are never kept for later.",
  };
  const NOT_KNOWN = "not known: treat as live";
  // Where this script is from, and all that belongs to the same release; the worker is told.
  const FOLDER = self.STATIC_FOLDER ?? new URL(".", document.currentScript.src).pathname;
  const SCRIPTS = ["kept", "offline"].map((name) => `<script src="${FOLDER}${name}.js" defer></script>`).join("");

  function database() {
    return new Promise((resolve, reject) => {
      const opening = indexedDB.open("benchtag", 1);
      opening.onupgradeneeded = () => {
        opening.result.createObjectStore("entries", { keyPath: "id" });
        opening.result.createObjectStore("about");
      };
      opening.onsuccess = () => resolve(opening.result);
      opening.onerror = () => reject(opening.error);
    });
  }

  async function inStore(name, mode, act) {
    const known = await database();
    try {
      return await new Promise((resolve, reject) => {
        const work = known.transaction(name, mode);
        const asked = act(work.objectStore(name));
        work.oncomplete = () => resolve(asked.result);
        work.onerror = work.onabort = () => reject(work.error);
      });
    } finally {
      known.close();
    }
  }

  const person = () => inStore("about", "readonly", (store) => store.get("person"));

  async function dropCopies() {
    await inStore("about", "readwrite", (store) => store.put(Date.now(), "dropped"));
    await caches.delete(COPIES);
    await inStore("about", "readwrite", (store) => store.delete("person"));
  }

  // An answer that was on its way while somebody signed out is not kept.
  async function droppedSince(askedAt) {
    return askedAt <= ((await inStore("about", "readonly", (store) => store.get("dropped"))) ?? 0);
  }

  // Another person at this browser finds no page of the one before.
  async function isPerson(now) {
    const before = await person();
    if (before === now) return;
    if (before) await dropCopies();
    await inStore("about", "readwrite", (store) => store.put(now, "person"));
  }

  // Take out whatever signs, powers, covers or moves, and what the page said of mains.
  function asCopy(html) {
    return html
      .replace(/<!-- live units -->[\s\S]*?<!-- end of live units -->/g, "")
      .replace(/<(script|form|button|select|textarea)\b[\s\S]*?<\/\1>/gi, "")
      .replace(/<input\b[^>]*>/gi, "")
      .replace(/\shx-[\w:-]+=(?:"[^"]*"|'[^']*')/gi, "")
      .replace(/(class="job-bar) power-\w+/g, "$1 power-unknown")
      .replace(/(<p class="lamp"[^>]*>)[\s\S]*?<\/p>/g, `$1<i aria-hidden="true"></i>${NOT_KNOWN}</p>`)
      .replace("</head>", `${SCRIPTS}</head>`);
  }

  function page(html, keptAt) {
    const headers = { "Content-Type": "text/html; charset=utf-8", "Content-Security-Policy": POLICY };
    return new Response(html, { headers: { ...headers, "X-Kept-At": String(keptAt) } });
  }

  async function keepCopy(path, html, askedAt) {
    const whose = html.match(/data-person="(\d+)"/);
    if (!JOB_PAGE.test(path) || !whose) return;
    if ((await person()) !== whose[1] || (await droppedSince(askedAt))) return;
    const copies = await caches.open(COPIES);
    // The newest stands last, and the oldest goes first.
    await copies.delete(path);
    await copies.put(path, page(asCopy(html), Date.now()));
    const jobs = (await copies.keys()).filter((one) => JOB_PAGE.test(new URL(one.url).pathname));
    for (const old of jobs.slice(0, Math.max(0, jobs.length - MOST_COPIES))) await copies.delete(old);
  }

  // The page that opens without a connection; it holds a name, so it goes with the copies.
  async function keepOfflinePage() {
    const known = await copyOf(OFFLINE);
    const askedAt = Date.now();
    if (known && askedAt - Number(known.headers.get("X-Kept-At")) < FRESH_MILLISECONDS) return;
    const answer = await fetch(OFFLINE);
    if (!answer.ok || answer.redirected) return;
    const html = (await answer.text()).replace(/<!-- live units -->[\s\S]*?<!-- end of live units -->/g, "");
    await keepAssets(Array.from(html.matchAll(/(?:src|href)="(\/static\/[^"#]+)/g), (found) => found[1]));
    if (await droppedSince(askedAt)) return;
    await (await caches.open(COPIES)).put(OFFLINE, page(html, Date.now()));
  }

  async function keepAssets(addresses) {
    const assets = await caches.open(ASSETS);
    await Promise.all(addresses.map((address) => assets.add(address).catch(() => undefined)));
  }

  // A copy from before an update is shown with what is kept of this release.
  async function assetOf(address) {
    const assets = await caches.open(ASSETS);
    return (await assets.match(address)) ?? assets.match(address.replace(/^.*\/static\/\w+\/shop\//, FOLDER));
  }

  async function dropOldAssets() {
    const assets = await caches.open(ASSETS);
    const release = FOLDER.replace(/shop\/$/, "");
    const old = (await assets.keys()).filter((one) => !new URL(one.url).pathname.startsWith(release));
    for (const one of old) await assets.delete(one);
  }

  function ageInWords(keptAt) {
    const minutes = Math.max(0, Math.floor((Date.now() - keptAt) / 60000));
    const sizes = [
      [1440, "day"],
      [60, "hour"],
      [1, "minute"],
    ];
    for (const [size, name] of sizes) {
      const count = Math.floor(minutes / size);
      if (count) return `${count} ${name}${count === 1 ? "" : "s"}`;
    }
    return "less than a minute";
  }

  const ageSentence = (keptAt) =>
    `This copy is ${ageInWords(keptAt)} old. Whether mains is on is not known: treat every unit as live.`;

  async function copyOf(path) {
    const copies = await caches.open(COPIES);
    return copies.match(path);
  }

  // Every job with a copy: number, name, age, and the newest row that the copy has.
  async function jobsWithCopies() {
    const copies = await caches.open(COPIES);
    const jobs = new Map();
    for (const request of await copies.keys()) {
      const found = new URL(request.url).pathname.match(JOB_PAGE);
      if (!found) continue;
      const copy = await copies.match(request);
      const html = await copy.text();
      const title = html.match(/<h1>([^<]*)<\/h1>/);
      const keptAt = Number(copy.headers.get("X-Kept-At"));
      const known = jobs.get(found[1]);
      if (known && known.keptAt > keptAt) continue;
      const seen = Number(html.match(/data-seen="(\d+)"/)?.[1] ?? 0);
      jobs.set(found[1], {
        number: found[1],
        name: title?.[1] ?? "",
        path: new URL(request.url).pathname,
        keptAt,
        seen,
      });
    }
    return [...jobs.values()].reverse();
  }

  // `seen` 0 is a page that nobody has a copy of: whoever sends the entry has to look first.
  async function keepEntry(number, kind, given) {
    const data = {};
    for (const name of FIELDS[kind]) if (given[name]) data[name] = given[name];
    const known = (await jobsWithCopies()).find((job) => job.number === number);
    const key = crypto.randomUUID();
    const typed = { person: await person(), typedAt: Date.now(), seen: known?.seen ?? 0 };
    const entry = { id: key, key, number, kind, data, refused: "", ...typed };
    await inStore("entries", "readwrite", (store) => store.put(entry));
  }

  const saveEntry = (entry) => inStore("entries", "readwrite", (store) => store.put(entry));
  const dropEntry = (id) => inStore("entries", "readwrite", (store) => store.delete(id));

  async function entriesOf(whose) {
    const all = await inStore("entries", "readonly", (store) => store.getAll());
    return all.filter((entry) => entry.person === whose).sort((a, b) => a.typedAt - b.typedAt);
  }

  return {
    ...{ FIELDS, FOLDER, JOB_PAGE, OFFLINE, SAID, ageSentence, ageInWords, assetOf, copyOf, dropCopies, dropEntry },
    ...{
      dropOldAssets,
      entriesOf,
      isPerson,
      jobsWithCopies,
      keepAssets,
      keepCopy,
      keepEntry,
      keepOfflinePage,
      page,
      saveEntry,
    },
  };
})();
