// A meter on a serial line of this computer (Web Serial): this page asks it, the shop judges the answers,
// and a person signs. Where the browser has no Web Serial its buttons stay hidden.
"use strict";
(() => {
  if (!navigator.serial) return;
  const LONGEST_MILLISECONDS = 20_000;
  const ANSWER_MILLISECONDS = 5_000;
  const PAUSE_MILLISECONDS = 200;
  const pause = (milliseconds) => new Promise((done) => setTimeout(done, milliseconds));
  const BUTTONS = "button.serial, button.serial-test";
  let busy = false;

  function show(root) {
    for (const button of root.querySelectorAll(BUTTONS)) button.hidden = false;
  }

  class Line {
    constructor(port) {
      this.port = port;
      this.rest = "";
    }

    static async open(baudRate) {
      const known = await navigator.serial.getPorts();
      const port = known.length === 1 ? known[0] : await navigator.serial.requestPort();
      await port.open({ baudRate });
      return new Line(port);
    }

    async ask(query) {
      const writer = this.port.writable.getWriter();
      await writer.write(new TextEncoder().encode(`${query}\n`));
      writer.releaseLock();
      const reader = this.port.readable.getReader();
      const late = setTimeout(() => reader.cancel(), ANSWER_MILLISECONDS);
      try {
        while (!this.rest.includes("\n")) {
          const { value, done } = await reader.read();
          if (done) throw new Error("It did not answer in time.");
          this.rest += new TextDecoder().decode(value);
        }
      } finally {
        clearTimeout(late);
        reader.releaseLock();
      }
      const end = this.rest.indexOf("\n");
      const answer = this.rest.slice(0, end).trim();
      this.rest = this.rest.slice(end + 1);
      return answer;
    }
  }

  const place = (button) => button.closest(".meter")?.querySelector(".serial-said");
  function say(button, words) {
    const said = place(button) ?? document.querySelector(".serial-said");
    if (said) said.textContent = words;
  }

  async function take(button, answers) {
    const sent = new FormData(button.closest("form"));
    sent.set("read", button.dataset.read);
    sent.set("answers", JSON.stringify(answers));
    const target = button.closest(".metered");
    const headers = { "HX-Request": "true" };
    const answer = await fetch(button.dataset.url, { method: "POST", body: sent, headers });
    if (answer.status === 204) return false;
    if (!answer.headers.has("HX-Retarget")) throw new Error("It could not be kept. Read it and type it.");
    window.htmx.swap(target, await answer.text(), { swapStyle: "outerHTML" });
    return true;
  }

  async function read(button, line) {
    const identity = await line.ask("*IDN?");
    if (identity !== button.dataset.identity) throw new Error(`Another instrument answers: ${identity}.`);
    const began = performance.now();
    const answers = [];
    for (;;) {
      const text = await line.ask(button.dataset.command);
      const seconds = (performance.now() - began) / 1000;
      answers.push([seconds, text]);
      say(button, `Reading: ${text} ...`);
      const over = seconds * 1000 >= LONGEST_MILLISECONDS;
      if ((over || answers.length >= 5) && (await take(button, answers))) return;
      if (over) throw new Error("It did not stand still. Read it and type it.");
      await pause(PAUSE_MILLISECONDS);
    }
  }

  async function identify(button, line) {
    const form = button.closest("form");
    form.elements.identity.value = await line.ask("*IDN?");
    form.requestSubmit(button);
  }

  async function press(button) {
    if (busy) return;
    busy = true;
    let line;
    try {
      say(button, "Asking ...");
      line = await Line.open(Number(button.dataset.baud));
      await (button.matches(".serial") ? read(button, line) : identify(button, line));
    } catch (error) {
      say(button, error.message);
    } finally {
      await line?.port.close();
      busy = false;
    }
  }

  document.addEventListener("click", (event) => {
    const button = event.target.closest(BUTTONS);
    if (!button || button.form?.elements.identity?.value) return;
    event.preventDefault();
    press(button);
  });
  document.addEventListener("htmx:load", (event) => show(event.detail.elt));
  show(document);
})();
