// On the card: a picture is sent as soon as it is taken, and the card is read aloud when that is on.
"use strict";
(() => {
  const ALOUD = "read-aloud";
  const on = () => localStorage.getItem(ALOUD) === "yes";

  document.addEventListener("change", (event) => {
    if (event.target.matches(".take input[type=file]")) event.target.form.requestSubmit();
  });

  // Title, caution and instruction, in the words of the page.
  function words() {
    const said = document.querySelectorAll("#act-title, .act .caution, .act .instruction");
    return [...said].map((part) => part.textContent.replace(/\s+/g, " ").trim()).join(". ");
  }

  function read() {
    window.speechSynthesis.cancel();
    if (!on() || !document.getElementById("act-title")) return;
    const speech = new SpeechSynthesisUtterance(words());
    // What stays English on a page of another language is read by an English voice.
    const marked = document.querySelector("#act-title [lang], .act .instruction [lang]");
    speech.lang = (marked ?? document.documentElement).lang;
    window.speechSynthesis.speak(speech);
  }

  function draw() {
    for (const form of document.querySelectorAll(".take")) form.classList.add("sends-itself");
    for (const button of document.querySelectorAll(".aloud")) {
      button.hidden = !window.speechSynthesis;
      button.setAttribute("aria-pressed", String(on()));
    }
  }

  document.addEventListener("click", (event) => {
    if (!event.target.closest(".aloud")) return;
    localStorage.setItem(ALOUD, on() ? "no" : "yes");
    draw();
    read();
  });
  document.addEventListener("htmx:afterSettle", (event) => {
    draw();
    if (window.speechSynthesis && event.target.id === "traveller") read();
  });
  draw();
})();
