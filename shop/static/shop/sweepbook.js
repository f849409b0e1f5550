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

  // Enter, which a phone shows as "next", goes to the next box of a sweep instead of sending it.
  function goToNextBox(event) {
    if (event.key !== "Enter" || !event.target.matches(".sweep-grid input")) return;
    const boxes = [...event.target.closest(".sweep-grid").querySelectorAll("input:not([type=hidden])")];
    const next = boxes[boxes.indexOf(event.target) + 1];
    event.preventDefault();
    if (next) next.focus();
    else event.target.dispatchEvent(new Event("change", { bubbles: true }));
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

  function showTooth(tooth) {
    const condition = tooth.querySelector("select").value;
    const number = tooth.querySelector(".tooth-number").textContent;
    const button = tooth.querySelector(".tooth-button");
    tooth.dataset.condition = condition;
    button.querySelector(".tooth-shape").dataset.condition = condition;
    button.setAttribute("aria-label", `Tooth ${number}: ${condition}`);
  }

  function giveToothAButton(tooth, pickedCondition) {
    const select = tooth.querySelector("select");
    const button = document.createElement("button");
    const number = document.createElement("span");
    const shape = document.createElement("span");
    button.type = "button";
    button.className = "tooth-button";
    number.textContent = tooth.querySelector(".tooth-number").textContent;
    number.className = "tooth-number";
    shape.className = "tooth-shape";
    button.append(number, shape);
    select.closest("label").hidden = true;
    tooth.append(button);
    showTooth(tooth);
    select.addEventListener("change", () => showTooth(tooth));
    button.addEventListener("click", () => {
      const picked = pickedCondition();
      select.value = select.value === picked ? select.options[0].value : picked;
      select.dispatchEvent(new Event("change", { bubbles: true }));
    });
  }

  // One touch a tooth: pick a condition above the map, then touch the teeth that have it.
  function prepareToothMap(map) {
    const brush = map.querySelector(".tooth-brush");
    const pickedCondition = () => brush.querySelector("input:checked").value;
    brush.hidden = false;
    map.querySelector(".tooth-map").classList.add("ready");
    for (const tooth of map.querySelectorAll(".tooth")) giveToothAButton(tooth, pickedCondition);
  }

  function prepare(root) {
    for (const map of root.querySelectorAll("[data-tooth-map]:not([data-ready])")) {
      map.dataset.ready = "yes";
      prepareToothMap(map);
    }
  }

  document.addEventListener("keydown", goToNextBox);
  document.addEventListener("submit", sendOnce);
  document.addEventListener("htmx:sendError", () => say(NO_CONNECTION));
  document.addEventListener("htmx:timeout", () => say(NO_CONNECTION));
  document.addEventListener("htmx:responseError", () => say(SERVER_TROUBLE));
  document.addEventListener("htmx:afterOnLoad", () => say(""));
  document.addEventListener("htmx:load", (event) => prepare(event.detail.elt));
  window.addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
  });
  document.addEventListener("DOMContentLoaded", () => {
    prepare(document);
    focusOnErrors(document);
  });
})();
