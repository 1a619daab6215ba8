// Sends pictures one by one and shows how far they are. Without this script the form does it all.
"use strict";

function send(form, file, progress) {
  return new Promise((resolve) => {
    const data = new FormData(form);
    data.delete("photo");
    data.append("photo", file, file.name);
    const request = new XMLHttpRequest();
    request.open("POST", form.action);
    request.setRequestHeader("Accept", "application/json");
    request.upload.onprogress = (event) => {
      if (event.lengthComputable) progress.value = event.loaded / event.total;
    };
    request.onload = () => {
      try {
        resolve(JSON.parse(request.responseText).refused);
      } catch {
        resolve([`${file.name}: the shop did not take it; sign in again or try once more.`]);
      }
    };
    request.onerror = () => resolve([`${file.name}: the line broke off; try it once more.`]);
    request.send(data);
  });
}

async function sendAll(form) {
  const input = form.querySelector("input[type=file]");
  const said = form.querySelector(".going");
  const progress = form.querySelector("progress");
  const button = form.querySelector("button");
  const files = [...input.files];
  const refused = [];
  button.disabled = true;
  said.hidden = progress.hidden = false;
  for (const [place, file] of files.entries()) {
    said.textContent = `Picture ${place + 1} of ${files.length}`;
    progress.value = 0;
    refused.push(...(await send(form, file, progress)));
  }
  progress.hidden = true;
  button.disabled = false;
  if (refused.length === 0) {
    window.location.reload();
    return;
  }
  said.textContent = `${files.length - refused.length} kept. ${refused.join(" ")}`;
  input.value = "";
}

function takeDrops(form) {
  const area = form.querySelector(".drop");
  const input = form.querySelector("input[type=file]");
  const said = form.querySelector(".going");
  const mark = (over) => area.classList.toggle("over", over);
  for (const name of ["dragenter", "dragover"]) {
    area.addEventListener(name, (event) => {
      event.preventDefault();
      mark(true);
    });
  }
  area.addEventListener("dragleave", () => mark(false));
  area.addEventListener("drop", (event) => {
    event.preventDefault();
    mark(false);
    if (event.dataTransfer.files.length) input.files = event.dataTransfer.files;
    input.dispatchEvent(new Event("change"));
  });
  input.addEventListener("change", () => {
    said.hidden = false;
    said.textContent = `Chosen: ${[...input.files].map((file) => file.name).join(", ")}`;
  });
}

for (const form of document.querySelectorAll(".add-photos")) {
  takeDrops(form);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    sendAll(form);
  });
}
