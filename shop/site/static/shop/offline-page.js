// The page of what is kept: copies, entries that wait for sending, and a form to write one more.
"use strict";
(() => {
  const { person } = document.body.dataset;
  const form = document.getElementById("later");
  const said = document.getElementById("said");
  const TITLES = { note_added: "Note", finding_recorded: "Finding", reading_taken: "Reading" };

  function element(name, text = "", more = {}) {
    return Object.assign(document.createElement(name), { textContent: text }, more);
  }

  function button(text, act) {
    return element("button", text, { type: "button", onclick: act });
  }

  async function showCopies() {
    const list = document.getElementById("copies");
    const jobs = await Kept.jobsWithCopies();
    list.replaceChildren(
      ...jobs.map((job) => {
        const line = element("li");
        line.append(
          element("a", `${job.number} ${job.name}`, { href: job.path }),
          `, seen ${Kept.ageInWords(job.keptAt)} ago`,
        );
        return line;
      }),
    );
    document.getElementById("no-copies").hidden = jobs.length > 0;
    form.hidden = jobs.length === 0;
    form.elements.job.replaceChildren(...jobs.map((job) => new Option(`${job.number} ${job.name}`, job.number)));
    const asked = new URLSearchParams(location.search).get("job");
    if (jobs.some((job) => job.number === asked)) form.elements.job.value = asked;
  }

  function words(entry) {
    const { text, finding, section, quantity, value, unit, note } = entry.data;
    const read = [quantity, value, unit].filter(Boolean).join(" ");
    return [text, finding?.replaceAll("-", " "), section, read, note].filter(Boolean).join("; ");
  }

  function shownEntry(entry) {
    const line = element("li");
    const at = new Date(entry.typedAt).toLocaleString([], { dateStyle: "medium", timeStyle: "short" });
    line.append(element("b", `Job ${entry.number}, ${TITLES[entry.kind].toLowerCase()}`), element("p", words(entry)));
    line.append(element("p", `Typed ${at}`, { className: "fine" }));
    if (entry.refused) line.append(element("p", entry.refused, { className: "refused", role: "alert" }));
    const hands = element("div", "", { className: "sign-row" });
    if (entry.overtaken)
      hands.append(element("a", "Look at the job", { href: `/jobs/${entry.number}/ledger/`, className: "button" }));
    const sending = entry.overtaken ? "I have looked: send it" : "Send it";
    hands.append(
      button(sending, () => send(entry)),
      button("Drop it", () => drop(entry)),
    );
    line.append(hands);
    return line;
  }

  async function showEntries() {
    const entries = await Kept.entriesOf(person);
    document.getElementById("entries").replaceChildren(...entries.map(shownEntry));
    document.getElementById("no-entries").hidden = entries.length > 0;
  }

  async function drop(entry) {
    await Kept.dropEntry(entry.id);
    said.textContent = "Dropped.";
    await showEntries();
  }

  // A page that was kept has a token of then: the page is asked for once more.
  async function freshToken() {
    const answer = await fetch(Kept.OFFLINE, { cache: "no-store" });
    if (answer.redirected || !answer.ok) throw new Error("Sign in first, then send it.");
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (fresh.body.dataset.person !== person) throw new Error("Somebody else is signed in by now: open the page anew.");
    return JSON.parse(fresh.body.getAttribute("hx-headers"))["X-CSRFToken"];
  }

  async function newestRow(number) {
    const rows = await (await fetch(`/api/v1/jobs/${number}/ledger/`)).json();
    return rows[rows.length - 1].sequence;
  }

  function asBody(entry) {
    const data = { ...entry.data };
    const at = new Date(entry.typedAt).toLocaleString();
    if (data.value !== undefined) data.value = Number(data.value);
    const field = entry.kind === "note_added" ? "text" : "note";
    data[field] = `${data[field] ?? ""} (typed offline, ${at})`.trim();
    return JSON.stringify({ kind: entry.kind, data, seen: entry.seen });
  }

  async function send(entry) {
    said.textContent = "Sending";
    try {
      const token = await freshToken();
      if (entry.overtaken) Object.assign(entry, { seen: await newestRow(entry.number), overtaken: false });
      const headers = { "Content-Type": "application/json", "X-CSRFToken": token, "Idempotency-Key": entry.key };
      const address = `/api/v1/jobs/${entry.number}/ledger/`;
      await taken(entry, await fetch(address, { method: "POST", headers, body: asBody(entry) }));
    } catch (error) {
      said.textContent = error instanceof TypeError ? "There is no connection yet. It is kept." : error.message;
    }
    await showEntries();
  }

  async function taken(entry, answer) {
    if (answer.status === 201) {
      await Kept.dropEntry(entry.id);
      said.textContent = `Written to job ${entry.number}.`;
      return;
    }
    const { reason, codes } = await answer.json();
    // A refusal wrote nothing; sent again it is a new request.
    const overtaken = (codes ?? []).includes("stale");
    await Kept.saveEntry({ ...entry, refused: reason, overtaken, key: crypto.randomUUID() });
    said.textContent = `Not sent: ${reason}`;
  }

  function showFields() {
    for (const set of form.querySelectorAll("fieldset"))
      set.disabled = set.hidden = set.dataset.kind !== form.elements.kind.value;
  }

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const typed = Object.fromEntries(new FormData(form));
    await Kept.keepEntry(typed.job, typed.kind, typed);
    form.reset();
    showFields();
    said.textContent = "Kept on this phone. Send it when you are back.";
    await showEntries();
  });
  form.elements.kind.addEventListener("change", showFields);
  document.getElementById("with-script").hidden = false;
  document.getElementById("without-script").hidden = true;
  said.textContent = Kept.SAID[new URLSearchParams(location.search).get("said")] ?? "";
  showFields();
  showCopies();
  showEntries();
})();
