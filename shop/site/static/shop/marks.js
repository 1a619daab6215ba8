// Draws a mark with the pointer: where it goes down is the start, where it lifts is the end.
// Without this script the places are typed.
"use strict";

const SVG = "http://www.w3.org/2000/svg";

function placeOf(frame, event) {
  const box = frame.getBoundingClientRect();
  const percent = (value, size) => Math.min(100, Math.max(0, Math.round((value / size) * 1000) / 10));
  return [percent(event.clientX - box.left, box.width), percent(event.clientY - box.top, box.height)];
}

function preview(form, layer) {
  const at = (name) => Number(form.elements[name].value);
  const [x1, y1, x2, y2] = ["x1", "y1", "x2", "y2"].map(at);
  const ring = form.elements.shape.value === "ring";
  const shape = document.createElementNS(SVG, ring ? "ellipse" : "line");
  const sizes = ring
    ? {
        cx: (x1 + x2) / 2,
        cy: (y1 + y2) / 2,
        rx: Math.abs(x2 - x1) / 2,
        ry: Math.abs(y2 - y1) / 2,
      }
    : { x1, y1, x2, y2 };
  for (const [name, value] of Object.entries(sizes)) shape.setAttribute(name, value);
  layer.replaceChildren(shape);
}

function begin() {
  const frame = document.getElementById("marking");
  const form = document.getElementById("mark-form");
  const layer = document.createElementNS(SVG, "svg");
  layer.setAttribute("viewBox", "0 0 100 100");
  layer.setAttribute("preserveAspectRatio", "none");
  frame.append(layer);
  frame.classList.add("by-pointer");
  document.getElementById("mark-how").textContent =
    "Draw on the picture: from the start to the end. An arrow points to its end; a ring lies between both.";
  form.querySelector("details").open = document.querySelector(".refused") !== null;
  let down = false;
  const set = (names, place) => {
    names.forEach((name, which) => {
      form.elements[name].value = place[which];
    });
    preview(form, layer);
  };
  frame.addEventListener("pointerdown", (event) => {
    down = true;
    frame.setPointerCapture(event.pointerId);
    set(["x1", "y1"], placeOf(frame, event));
    set(["x2", "y2"], placeOf(frame, event));
    event.preventDefault();
  });
  frame.addEventListener("pointermove", (event) => {
    if (down) set(["x2", "y2"], placeOf(frame, event));
  });
  for (const end of ["pointerup", "pointercancel"])
    frame.addEventListener(end, () => {
      down = false;
    });
}

begin();
