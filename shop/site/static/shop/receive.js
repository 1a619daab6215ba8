// On a narrow page the intake is shown one part at a time. Without this script it is one page.
"use strict";
(() => {
  const form = document.querySelector("form.receive");
  const parts = [...form.querySelectorAll(".part")];
  const links = [...document.querySelectorAll(".part-line a")];
  const [next, send, back] = ["next", "send", "back"].map((name) => form.querySelector(`[data-${name}]`));
  const narrow = window.matchMedia("(max-width: 59.99rem)");
  const wrong = parts.findIndex((part) => part.querySelector("[aria-invalid=true], .wrong"));
  let here = Math.max(0, wrong);

  function draw() {
    const last = parts.length - 1;
    for (const [place, part] of parts.entries()) {
      part.hidden = narrow.matches && place !== here;
      if (place === here) links[place].setAttribute("aria-current", "step");
      else links[place].removeAttribute("aria-current");
    }
    next.hidden = !narrow.matches || here === last;
    back.hidden = !narrow.matches || here === 0;
    next.textContent = here < last ? `Next: ${links[here + 1].textContent.toLowerCase()}` : "";
    send.classList.toggle("go", !narrow.matches || here === last);
    send.classList.toggle("big", !narrow.matches || here === last);
  }

  function go(place) {
    here = place;
    draw();
    parts[here].querySelector("h2").focus({ preventScroll: true });
    window.scrollTo(0, 0);
  }

  next.addEventListener("click", () => go(here + 1));
  back.addEventListener("click", () => go(here - 1));
  narrow.addEventListener("change", draw);
  // A link to a part, or to a field in one, opens its part first.
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a[href^='#']");
    const target = link && document.getElementById(link.hash.slice(1));
    const place = parts.findIndex((part) => target && part.contains(target));
    if (place < 0 || !narrow.matches) return;
    event.preventDefault();
    go(place);
    if (target !== parts[place]) target.focus();
  });
  // Enter in a field goes on to the next part; the last one sends.
  form.addEventListener("keydown", (event) => {
    const typing = event.key === "Enter" && event.target.matches("input:not([type=checkbox])");
    if (!typing || next.hidden) return;
    event.preventDefault();
    go(here + 1);
  });
  draw();
})();
