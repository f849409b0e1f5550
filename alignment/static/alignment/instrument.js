// The instrument: from box to box in the direction of the sweep, by keys on the screen or by an indicator that types.
"use strict";

(() => {
  const BOX = "input[data-reading]";
  const BARE = /^[-+−.,/\d\s]*\d[-+−.,/\d\s]*$/;
  const ENTER_SAVES = "sweepbook-enter-saves";
  const form = () => document.getElementById("sweep-form");
  const boxes = () => [...form().querySelectorAll(BOX)];
  const coarse = matchMedia("(pointer: coarse)");
  let current = null; // the box that the keys type into, also while a key has the focus

  function changed(box) {
    box.dispatchEvent(new Event("input", { bubbles: true }));
  }

  /* ---------- from box to box ---------- */

  function go(box) {
    if (!box) return;
    showSet(box);
    box.focus({ preventScroll: true });
    box.select();
  }

  function step(from, by) {
    const all = boxes();
    const next = all[all.indexOf(from) + by];
    if (next) go(next);
    else if (by > 0) from.blur();
    return Boolean(next);
  }

  // Only one of several sweeps shows, the one that is typed into.
  function showSet(inside) {
    const place = inside.closest("[data-set]");
    if (!place) return;
    for (const one of form().querySelectorAll("[data-set]")) {
      one.classList.toggle("now", one.dataset.set === place.dataset.set);
    }
  }

  function begin() {
    if (!form()) return;
    form().dataset.begun = "yes";
    document.body.classList.add("scripted");
    for (const box of boxes()) box.inputMode = coarse.matches ? "none" : "text";
    const first = boxes().find((box) => !box.value) || boxes()[0];
    if (!first) return;
    showSet(first);
    current = first;
    const asks = form().querySelector(".count-asks:not([hidden]) .button");
    if (asks) asks.focus();
    else if (!document.querySelector("[data-focus], .sheet[open]")) go(first);
  }

  // Enter goes on, in the last box it saves where that was asked for; arrows go round the clock, the level ones where
  // they cannot move within the text.
  function typed(event) {
    const box = event.target;
    if (!box.matches || !box.matches(BOX) || event.altKey || event.ctrlKey || event.metaKey) return;
    const atEnd = box.selectionStart === box.value.length || box.selectionStart !== box.selectionEnd;
    const atStart = box.selectionEnd === 0 || box.selectionStart !== box.selectionEnd;
    if (event.key === "Enter") {
      event.preventDefault();
      if (step(box, 1)) return;
      changed(box);
      if (localStorage.getItem(ENTER_SAVES)) form().requestSubmit(form().querySelector("[name=save]"));
    } else if (event.key === "ArrowDown" || (event.key === "ArrowRight" && atEnd)) {
      if (step(box, 1)) event.preventDefault();
    } else if (event.key === "ArrowUp" || (event.key === "ArrowLeft" && atStart)) {
      if (step(box, -1)) event.preventDefault();
    }
  }

  /* ---------- keys on the screen ---------- */

  function write(box, text) {
    box.setRangeText(text, box.selectionStart, box.selectionEnd, "end");
    changed(box);
  }

  function erase(box) {
    const start = box.selectionStart === box.selectionEnd ? Math.max(0, box.selectionStart - 1) : box.selectionStart;
    box.setRangeText("", start, box.selectionEnd, "end");
    changed(box);
  }

  function turnSign(box) {
    const text = box.value.trim();
    const isAllSelected = text && box.selectionEnd - box.selectionStart === box.value.length;
    box.value = /^[-−]/.test(text) ? text.slice(1) : `-${text.replace(/^\+/, "")}`;
    // What is typed next takes the place of the old number, not of the sign.
    box.setSelectionRange(isAllSelected ? box.value.search(/\d|$/) : box.value.length, box.value.length);
    changed(box);
  }

  function press(key) {
    const box = current && current.isConnected ? current : boxes()[0];
    if (document.activeElement !== box) box.focus({ preventScroll: true });
    if (key === "next") step(box, 1);
    else if (key === "back") step(box, -1);
    else if (key === "erase") erase(box);
    else if (key === "sign") turnSign(box);
    else write(box, key);
  }

  /* ---------- what a bare number counts in ---------- */

  function showCount() {
    const { value } = form().elements.counts_in;
    form().dataset.countsIn = value;
    for (const chip of form().querySelectorAll("[data-count]")) {
      const isChosen = chip.dataset.count === value;
      chip.setAttribute("aria-pressed", String(isChosen));
      if (!isChosen) continue;
      for (const place of form().querySelectorAll("[data-counts]")) place.textContent = chip.textContent.trim();
    }
  }

  function count(value) {
    form().elements.counts_in.value = value;
    showCount();
    changed(form().elements.counts_in);
  }

  // With nothing typed there is nothing to ask: it is done here, without the server.
  function choose(event, chip) {
    if (boxes().some((box) => BARE.test(box.value))) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    count(chip.dataset.count);
    const box = current && current.isConnected ? current : boxes()[0];
    if (document.activeElement !== box) go(box);
  }

  /* ---------- what unfolds ---------- */

  function cautions() {
    const sheet = document.querySelector("details[data-read]");
    if (!sheet) return;
    const key = `sweepbook-read-${sheet.dataset.read}`;
    sheet.open = !localStorage.getItem(key);
    const understood = sheet.querySelector("[data-understood]");
    understood.hidden = false;
    understood.addEventListener("click", () => {
      localStorage.setItem(key, "yes");
      sheet.open = false;
      begin();
    });
  }

  function enterSaves() {
    const place = document.querySelector("[data-enter-saves]");
    if (!place) return;
    const box = place.querySelector("input");
    place.hidden = false;
    box.checked = Boolean(localStorage.getItem(ENTER_SAVES));
    box.addEventListener("change", () => {
      if (box.checked) localStorage.setItem(ENTER_SAVES, "yes");
      else localStorage.removeItem(ENTER_SAVES);
    });
  }

  function clicked(event) {
    const chip = event.target.closest("[data-count]");
    const key = event.target.closest("[data-key]");
    const tab = event.target.closest("[data-to-set]");
    const phase = event.detail && event.target.closest(".phase");
    if (phase) setTimeout(() => go(current)); // by a finger or a mouse: back to the box it came from
    if (key) press(key.dataset.key);
    else if (chip) choose(event, chip);
    else if (tab) go(form().querySelector(`.sweep-set[data-set="${tab.parentElement.dataset.set}"] ${BOX}`));
  }

  // A finger on a key leaves the focus in the box.
  function held(event) {
    if (event.target.closest("[data-key], [data-count]")) event.preventDefault();
  }

  function focused(event) {
    if (!event.target.matches(BOX) && !event.target.closest(".set-tab")) return;
    showSet(event.target);
    if (event.target.matches(BOX)) current = event.target;
  }

  function setUp() {
    cautions();
    enterSaves();
    begin();
  }

  document.addEventListener("keydown", typed);
  // Kept on the device: what the page came with, a draft of the server's, is not entered twice.
  document.addEventListener("queue:begin", ({ target, detail }) => {
    if (target !== form() || !detail.again) return;
    for (const box of boxes()) box.value = "";
    form().querySelector(".sweep-draft")?.remove();
    changed(boxes()[0]);
  });
  // What was kept on the device comes back with what it counted in.
  document.addEventListener("queue:fill", ({ target }) => { if (target === form()) showCount(); });
  document.addEventListener("pointerdown", held);
  document.addEventListener("mousedown", held);
  document.addEventListener("focusin", focused);
  document.addEventListener("click", clicked, { capture: true });
  document.addEventListener("htmx:afterSettle", () => { if (form() && !form().dataset.begun) setUp(); });
  document.addEventListener("DOMContentLoaded", setUp);
})();
