// Says why the browser gives no passkey; without this script the button alone stands there.
"use strict";
(() => {
  const button = document.getElementById("passkey_login");
  const said = document.getElementById("passkey-said");
  if (!button || !said) return;

  if (!window.PublicKeyCredential) {
    button.disabled = true;
    said.textContent = window.isSecureContext
      ? "This browser has no passkeys. Sign in with the password."
      : "Browsers give passkeys only over https, or on the shop's own machine. Sign in with the password.";
    return;
  }
  button.addEventListener("click", () => {
    said.textContent = "Waiting for the passkey ...";
  });
  document.addEventListener("allauth.error", () => {
    said.textContent = "No passkey came from this browser or key. Try again, or sign in with the password.";
  });
})();
