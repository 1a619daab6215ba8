// Copies or shares the link or the words that stand in an element of the page.
"use strict";
(() => {
  const element = (id) => document.getElementById(id);
  // biome-ignore lint/performance/useDomNodeTextContent: the words as they are seen, without the line ends of the source
  const words = (id) => (element(id).value ?? element(id).innerText).trim();

  // Where the page is not served by https there is no clipboard: the browser's own command is left.
  function copyOldWay(text) {
    const field = document.createElement("textarea");
    field.value = text;
    document.body.append(field);
    field.select();
    const done = document.execCommand("copy");
    field.remove();
    return done;
  }

  async function copy(text) {
    if (!navigator.clipboard) return copyOldWay(text);
    try {
      await navigator.clipboard.writeText(text);
      return true;
    } catch {
      return copyOldWay(text);
    }
  }

  function share(text) {
    const what = URL.canParse(text) ? { url: text } : { text };
    // Whoever closes the sheet of the telephone has shared nothing, and that is no fault.
    navigator.share(what).catch(() => undefined);
  }

  document.addEventListener("click", async (event) => {
    const button = event.target.closest("[data-copy], [data-share]");
    if (!button) return;
    if (button.dataset.share) {
      share(words(button.dataset.share));
      return;
    }
    const done = await copy(words(button.dataset.copy));
    const said = button.parentElement.querySelector("[role=status]");
    said.textContent = done ? "Copied." : "Not copied: mark it and copy it by hand.";
  });

  for (const button of document.querySelectorAll("[data-copy]")) button.hidden = false;
  if (navigator.share) {
    for (const button of document.querySelectorAll("[data-share]")) button.hidden = false;
  }
})();
