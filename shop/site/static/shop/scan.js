// Reads a code by the camera where the browser knows how; the field works everywhere.
"use strict";
(() => {
  const button = document.getElementById("camera");
  const finder = document.getElementById("finder");
  const said = document.getElementById("camera-said");
  const field = document.getElementById("code");
  // A code that is there already is typed over; what a scanner has begun to type is not.
  if (field.value === field.defaultValue) field.select();
  const still = document.getElementById("still");
  if (!("BarcodeDetector" in window) || !navigator.mediaDevices) {
    // One tap less: the picture goes as soon as it is taken.
    still.elements.picture.addEventListener("change", () => {
      said.textContent = "Reading the picture";
      still.requestSubmit();
    });
    return;
  }
  button.hidden = false;
  still.hidden = true;

  const read = async (detector) => {
    if (!finder.srcObject) return;
    const codes = await detector.detect(finder).catch(() => []);
    if (codes.length) {
      for (const track of finder.srcObject.getTracks()) track.stop();
      field.value = codes[0].rawValue;
      field.form.requestSubmit();
      return;
    }
    setTimeout(() => read(detector), 150);
  };

  button.addEventListener("click", async () => {
    try {
      const detector = new BarcodeDetector();
      finder.srcObject = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
      finder.hidden = false;
      await finder.play();
      said.textContent = "Hold the code in the picture.";
      read(detector);
    } catch (error) {
      said.textContent = `The camera cannot be used here (${error.name}). Type the number instead.`;
    }
  });
})();
