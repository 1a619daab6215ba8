// Clocks count on while a page stays open, and ring once it was switched on by a tap.
"use strict";
(() => {
  const RING = "ring";
  const BEEPS = [0, 0.4, 0.8];
  const rung = new WeakSet();
  let audio = null;

  const on = () => localStorage.getItem(RING) === "yes";

  // A browser lets a page sound only after a tap or a key.
  function wake() {
    if (on() && !audio && window.AudioContext) audio = new AudioContext();
  }

  function ring() {
    if (!audio || !on()) return;
    for (const start of BEEPS) {
      const tone = audio.createOscillator();
      const volume = audio.createGain();
      volume.gain.value = 0.2;
      tone.frequency.value = 880;
      tone.connect(volume).connect(audio.destination);
      tone.start(audio.currentTime + start);
      tone.stop(audio.currentTime + start + 0.25);
    }
  }

  function written(seconds) {
    const [hours, minutes] = [Math.floor(seconds / 3600), Math.floor((seconds % 3600) / 60)];
    const two = (number) => String(number).padStart(2, "0");
    const rest = two(seconds % 60);
    return hours ? `${hours}:${two(minutes)}:${rest}` : `${minutes}:${rest}`;
  }

  function count(clock) {
    clock.dataset.began ||= String(Date.now());
    const began = Number(clock.dataset.began);
    const gone = Math.floor((Date.now() - began) / 1000);
    const down = clock.dataset.counts === "down";
    const seconds = Number(clock.dataset.seconds) + (down ? -gone : gone);
    const over = down && seconds <= 0;
    clock.querySelector(".left").textContent = (over ? "+" : "") + written(Math.abs(seconds));
    if (!over || rung.has(clock)) return;
    rung.add(clock);
    clock.classList.add("over");
    clock.querySelector(".is-up").textContent = "Time is up";
    // What was over when the page came has rung already.
    if (Number(clock.dataset.seconds) > 0) ring();
  }

  function tick() {
    for (const clock of document.querySelectorAll(".clock[data-seconds]")) count(clock);
    for (const button of document.querySelectorAll(".ring")) {
      button.hidden = !window.AudioContext;
      button.setAttribute("aria-pressed", String(on()));
    }
  }

  document.addEventListener("click", (event) => {
    if (!event.target.closest(".ring")) return;
    localStorage.setItem(RING, on() ? "no" : "yes");
    wake();
    tick();
  });
  document.addEventListener("pointerup", wake);
  document.addEventListener("keyup", wake);
  setInterval(tick, 1000);
  tick();
})();
