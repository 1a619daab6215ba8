// A form that is tapped twice is sent once; what takes mains off is sent whenever it is pressed.
"use strict";
(() => {
  const DOUBLE_TAP_MILLISECONDS = 3000;
  document.addEventListener("submit", (event) => {
    const form = event.target;
    // What htmx sends it has taken over by now, and it drops the second tap by itself.
    if (event.defaultPrevented || form.method !== "post" || form.action.endsWith("/power/")) return;
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
    // Where the answer is a file or an error of the line, the page stays and may be sent again.
    setTimeout(() => delete form.dataset.sent, DOUBLE_TAP_MILLISECONDS);
  });
})();
