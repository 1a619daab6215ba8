// Asks the browser for its push service, and hands the shop what that needs to write there.
"use strict";
(() => {
  const form = document.getElementById("push");
  const said = document.getElementById("push-said");
  if (!form || !window.isSecureContext || !("PushManager" in window) || !navigator.serviceWorker) return;
  const button = form.querySelector("button");
  button.disabled = false;
  said.textContent = "";

  function bytesOf(text) {
    const plain = atob(text.replace(/-/g, "+").replace(/_/g, "/"));
    return Uint8Array.from(plain, (letter) => letter.charCodeAt(0));
  }

  async function subscribed() {
    const worker = await navigator.serviceWorker.ready;
    // One under an earlier key of the shop would never be told.
    const before = await worker.pushManager.getSubscription();
    if (before) await before.unsubscribe();
    const wanted = { userVisibleOnly: true, applicationServerKey: bytesOf(form.dataset.key) };
    return (await worker.pushManager.subscribe(wanted)).toJSON();
  }

  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    button.disabled = true;
    said.textContent = "Asking the browser ...";
    try {
      const { endpoint, keys } = await subscribed();
      form.elements.address.value = endpoint;
      form.elements.p256dh.value = keys.p256dh;
      form.elements.auth.value = keys.auth;
      form.submit();
    } catch (error) {
      button.disabled = false;
      said.textContent = `The browser does not allow it: ${error.message}`;
    }
  });
})();
