// Makes a map of teeth to be touched of what is a list of choices without it.
"use strict";

(() => {
  const HELD_MS = 250;
  const STEP_PX = 8; // well below the width of a tooth
  const BEFORE = { marked: "D", worn: "W", cracked: "C", missing: "×" };

  // What people call a condition, as its choice says it.
  function wordOf(select, condition) {
    return [...select.options].find((one) => one.value === condition)?.textContent.trim() ?? condition;
  }

  function showTooth(tooth) {
    const select = tooth.querySelector("select");
    const condition = select.value;
    const number = tooth.querySelector(".tooth-number").textContent;
    const button = tooth.querySelector(".tooth-button");
    tooth.dataset.condition = condition;
    button.querySelector(".tooth-shape").dataset.condition = condition;
    const before = tooth.dataset.before ? `, last time ${wordOf(select, tooth.dataset.before)}` : "";
    button.setAttribute("aria-label", `Tooth ${number}: ${wordOf(select, condition)}${before}`);
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
    if (tooth.dataset.before) {
      const before = document.createElement("span");
      before.className = "tooth-before";
      before.textContent = BEFORE[tooth.dataset.before];
      button.append(before);
    }
    select.closest("label").hidden = true;
    tooth.append(button);
    showTooth(tooth);
    select.addEventListener("change", () => showTooth(tooth));
    button.addEventListener("click", () => {
      if (tooth.closest("[data-drawn]")) return;
      const picked = pickedCondition();
      setTooth(tooth, select.value === picked ? select.options[0].value : picked);
    });
  }

  function setTooth(tooth, condition) {
    const select = tooth.querySelector("select");
    if (select.value === condition) return;
    select.value = condition;
    select.dispatchEvent(new Event("change", { bubbles: true }));
  }

  // Held for a moment, a finger or the mouse draws along the teeth and marks all it passes; a quick
  // swipe goes on scrolling the page. Nothing about the map's layout may change meanwhile, or the
  // teeth would move from under the finger.
  function drawRuns(list, pickedCondition) {
    let timer = null;
    let drawing = false;
    let started = null;
    let last = null;
    const toothAt = (x, y) => {
      const tooth = document.elementFromPoint(x, y)?.closest(".tooth");
      return tooth && list.contains(tooth) ? tooth : null;
    };
    const mark = (x, y) => {
      const tooth = toothAt(x, y);
      if (tooth) setTooth(tooth, pickedCondition());
    };
    // A fast finger is seen at a few places only; the teeth between them were passed all the same.
    const markTo = ({ clientX, clientY }) => {
      const [x, y] = [clientX - last.x, clientY - last.y];
      const steps = Math.max(1, Math.ceil(Math.hypot(x, y) / STEP_PX));
      for (let step = 1; step <= steps; step += 1) mark(last.x + (x * step) / steps, last.y + (y * step) / steps);
      last = { x: clientX, y: clientY };
    };
    const begin = () => {
      drawing = true;
      list.dataset.drawn = "yes";
      list.classList.add("being-marked");
      setTooth(started, pickedCondition());
    };
    const stop = () => {
      clearTimeout(timer);
      list.classList.remove("being-marked");
      drawing = false;
      started = null;
      setTimeout(() => delete list.dataset.drawn, 0);
    };
    list.addEventListener("pointerdown", (event) => {
      started = event.target.closest(".tooth");
      if (!started || event.button) return;
      last = { x: event.clientX, y: event.clientY };
      if (event.pointerType === "touch") timer = setTimeout(begin, HELD_MS);
    });
    list.addEventListener("pointermove", (event) => {
      const pressed = event.buttons & 1 && started;
      if (!drawing && event.pointerType !== "touch" && pressed && toothAt(event.clientX, event.clientY) !== started) {
        begin();
      }
      if (drawing) markTo(event);
    });
    list.addEventListener("touchmove", (event) => {
      if (drawing) event.preventDefault();
      else clearTimeout(timer);
    }, { passive: false });
    list.addEventListener("contextmenu", (event) => drawing && event.preventDefault());
    for (const end of ["pointerup", "pointercancel"]) document.addEventListener(end, stop);
  }

  // From one number to another in running direction, over the joint of the count if need be.
  function markFromTo(map, teeth, pickedCondition) {
    const [from, to] = ["from", "to"].map((end) => map.querySelector(`[data-run-${end}]`));
    map.querySelector("[data-run-mark]").addEventListener("click", () => {
      const [first, last] = [from, to].map((box) => Number(box.value));
      const wrong = [from, to].find((box) => !box.value || !box.checkValidity());
      if (wrong) {
        wrong.focus();
        wrong.reportValidity();
        return;
      }
      const length = ((last - first + teeth.length) % teeth.length) + 1;
      for (let step = 0; step < length; step += 1) {
        setTooth(teeth[(first - 1 + step) % teeth.length], pickedCondition());
      }
      from.value = "";
      to.value = "";
    });
    for (const box of [from, to]) box.addEventListener("keydown", (event) => {
      if (event.key !== "Enter") return;
      event.preventDefault();
      map.querySelector("[data-run-mark]").click();
    });
  }

  // One touch a tooth: pick a condition above the map, then touch the teeth that have it.
  function prepareToothMap(map) {
    const brush = map.querySelector(".tooth-brush");
    const pickedCondition = () => brush.querySelector("input:checked").value;
    brush.hidden = false;
    map.querySelector("[data-tooth-ways]").hidden = false;
    map.querySelector(".tooth-map").classList.add("ready");
    const teeth = [...map.querySelectorAll(".tooth")];
    for (const tooth of teeth) giveToothAButton(tooth, pickedCondition);
    drawRuns(map.querySelector(".tooth-map"), pickedCondition);
    markFromTo(map, teeth, pickedCondition);
  }

  function prepare(root) {
    for (const map of root.querySelectorAll("[data-tooth-map]:not([data-ready])")) {
      map.dataset.ready = "yes";
      prepareToothMap(map);
    }
  }

  document.addEventListener("htmx:load", (event) => prepare(event.detail.elt));
  document.addEventListener("DOMContentLoaded", () => prepare(document));
})();
