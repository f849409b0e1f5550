// A device shared at the machines: keys to tap a PIN with, and whoever walks away is signed off.
"use strict";

(() => {
  const AWAY_AFTER_MS = 120000;

  /* ---------- keys ---------- */

  function key(text, says, press) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "button huge";
    button.textContent = text;
    if (says) button.setAttribute("aria-label", says);
    button.addEventListener("click", press);
    return button;
  }

  // Beside the box, which takes a keyboard as ever; a screen keyboard would only cover the keys.
  function addKeys(box) {
    const keys = document.createElement("div");
    keys.className = "keypad";
    const type = (digit) => () => {
      if (box.value.length < box.maxLength) box.value += digit;
    };
    const digits = [..."123456789"].map((digit) => key(digit, "", type(digit)));
    const clear = key("Clear", "", () => { box.value = ""; });
    const back = key("⌫", "Take the last digit back", () => { box.value = box.value.slice(0, -1); });
    keys.append(...digits, clear, key("0", "", type("0")), back);
    box.inputMode = "none";
    box.after(keys);
    box.focus();
  }

  /* ---------- walking away ---------- */

  function watch(done) {
    let seen = Date.now();
    const see = () => { seen = Date.now(); };
    for (const event of ["pointerdown", "keydown", "input", "scroll"]) {
      window.addEventListener(event, see, { capture: true, passive: true });
    }
    setInterval(() => {
      if (Date.now() - seen > AWAY_AFTER_MS && navigator.onLine) done.submit();
    }, 5000);
  }

  document.addEventListener("DOMContentLoaded", () => {
    for (const box of document.querySelectorAll("input[data-keypad]")) addKeys(box);
    const done = document.querySelector("form[data-device-done]");
    if (done) watch(done);
  });
})();
