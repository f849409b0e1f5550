// What a script adds; every page works without it.
"use strict";

(() => {
  const NO_CONNECTION = "No connection. What you typed is still here; it is sent when you try again.";
  const SERVER_TROUBLE = "The server could not compute that. What you typed is still here.";
  const SENT_AGAIN_AFTER_MS = 8000;

  // The list of what is wrong takes the focus, so that it is read out and scrolled to.
  function focusOnErrors(root) {
    const summary = root.querySelector("[data-focus]");
    if (summary) summary.focus();
  }

  // Two taps on a slow line send a form once.
  function sendOnce(event) {
    const form = event.target;
    if (form.method !== "post" || event.defaultPrevented) return;
    if (form.dataset.sent) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "yes";
    setTimeout(() => delete form.dataset.sent, SENT_AGAIN_AFTER_MS);
  }

  function say(text) {
    const place = document.getElementById("connection");
    if (place) place.textContent = text;
  }

  // Picking what kind a station is picks how it is usually set up, until somebody chose that.
  function pickUsualSetup(kind) {
    const usual = JSON.parse(kind.dataset.usual);
    const isDrawn = (input) => Boolean(input.closest(".choices.drawn"));
    let chosen = [...kind.form.elements].some((input) => isDrawn(input) && input.checked);
    kind.form.addEventListener("change", (event) => { chosen = chosen || isDrawn(event.target); });
    kind.addEventListener("change", () => {
      if (chosen) return;
      for (const [name, value] of Object.entries(usual[kind.value] || {})) {
        for (const input of kind.form.elements[name]) input.checked = input.value === value;
      }
    });
  }

  document.addEventListener("submit", sendOnce);
  // What the device works out by itself says so where it stands.
  const sayUnlessWorkedHere = (event) => event.target.matches?.("[data-worked-here], .thread-fresh") || say(NO_CONNECTION);
  document.addEventListener("htmx:sendError", sayUnlessWorkedHere);
  document.addEventListener("htmx:timeout", sayUnlessWorkedHere);
  document.addEventListener("htmx:responseError", () => say(SERVER_TROUBLE));
  document.addEventListener("htmx:afterOnLoad", () => say(""));
  window.addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  });
  document.addEventListener("DOMContentLoaded", () => focusOnErrors(document));
})();
