// Single keys on a desk. A key follows a link or moves the focus; it never presses a button.
"use strict";
(() => {
  const TYPING = "input, textarea, select, [contenteditable]";
  const seen = (element) => element.getClientRects().length > 0;

  const wanted = (key) => {
    const named = [...document.querySelectorAll("[data-key]")].filter((one) => one.dataset.key === key && seen(one));
    // What stands last is nearest to the work: the card, and not the menu.
    return named[named.length - 1];
  };

  const showList = async (link) => {
    const answer = await fetch(link.href, { headers: { "HX-Request": "true" } });
    if (!answer.ok || answer.redirected) {
      link.click();
      return;
    }
    const dialog = document.createElement("dialog");
    dialog.className = "sheet keys-dialog";
    dialog.setAttribute("aria-labelledby", "keys-title");
    dialog.innerHTML = `${await answer.text()}<form method="dialog"><button class="go" autofocus>Close</button></form>`;
    dialog.addEventListener("close", () => dialog.remove());
    document.body.append(dialog);
    dialog.showModal();
  };

  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.isComposing || event.repeat) return;
    if (event.defaultPrevented || event.target.closest(TYPING) || document.querySelector("dialog[open]")) return;
    const found = wanted(event.key);
    if (!found) return;
    event.preventDefault();
    if (event.key === "?") showList(found);
    else if (found.matches("a")) found.click();
    else found.focus();
  });
})();
