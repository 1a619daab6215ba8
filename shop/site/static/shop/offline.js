// On every page: registers the service worker, keeps the copy of a job page fresh, tells of entries that wait.
"use strict";
(() => {
  const { person } = document.body.dataset;
  const copy = document.querySelector(".copy-line");

  function tellAge() {
    copy.querySelector("span").textContent = Kept.ageSentence(Number(copy.dataset.keptAt));
  }

  async function tellWaiting() {
    const waiting = await Kept.entriesOf(person);
    if (!waiting.length || location.pathname === Kept.OFFLINE) return;
    const line = document.createElement("p");
    line.className = "kept-line";
    const link = document.createElement("a");
    link.href = Kept.OFFLINE;
    const words = waiting.length === 1 ? "1 entry typed offline is" : `${waiting.length} entries typed offline are`;
    link.textContent = `${words} not sent yet`;
    line.append(link);
    document.getElementById("main").prepend(line);
  }

  // The worker keeps: a page that is left in the midst of it would lose the copy of before, too.
  async function tellWorker(message) {
    const { active } = await navigator.serviceWorker.ready;
    active.postMessage(message);
  }

  // What a swap changed is in no answer of its own: the page as it stands is the copy.
  let settling;
  function keepAsItStands() {
    clearTimeout(settling);
    settling = setTimeout(() => {
      const html = document.documentElement.outerHTML;
      if (!location.search) tellWorker({ path: location.pathname, html, askedAt: performance.timeOrigin });
    }, 400);
  }

  // Only what is said here makes a person known, so that copies of nobody else are kept.
  async function prepare() {
    await Kept.isPerson(person);
    const loaded = performance.getEntriesByType("resource").map((one) => new URL(one.name));
    const ours = loaded.filter((one) => one.origin === location.origin && one.pathname.startsWith("/static/"));
    await Kept.keepAssets([...new Set(ours.map((one) => one.pathname))]);
    if (Kept.JOB_PAGE.test(location.pathname)) keepAsItStands();
    await tellWorker({ path: Kept.OFFLINE });
  }

  if (copy) setInterval(tellAge, 20000);
  if (!person || !("serviceWorker" in navigator)) return;
  tellWaiting();
  if (copy || !navigator.onLine) return;
  navigator.serviceWorker.register("/service-worker.js").catch(() => undefined);
  document.addEventListener("htmx:afterSettle", keepAsItStands);
  window.addEventListener("load", () => prepare().catch(() => undefined));
})();
