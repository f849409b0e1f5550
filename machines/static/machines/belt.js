// Keeps the list of teeth and the map of teeth saying the same. Without it the list alone is typed.
"use strict";

(() => {
  const TOKEN = /(\d+)\s*(?:[-–—]|\bto\b)\s*(\d+)|(\d+)|([a-z]+)/gi;

  function round(first, last, count) {
    const teeth = [];
    for (let step = 0; step <= (last - first + count) % count; step += 1) {
      teeth.push(((first - 1 + step) % count) + 1);
    }
    return teeth;
  }

  // What a choice calls the condition that it stands for.
  function wordOf(select, condition) {
    return [...select.options].find((one) => one.value === condition)?.textContent.trim() ?? condition;
  }

  // What the list says so far; the server has the last word on what cannot be read. `known` leads
  // from what may be typed to the condition.
  function read(text, known, count) {
    const found = new Map();
    let waiting = [];
    for (const [, first, last, tooth, word] of text.matchAll(TOKEN)) {
      if (word && known.has(word.toLowerCase())) {
        for (const one of waiting) found.set(one, known.get(word.toLowerCase()));
        waiting = [];
      } else if (!word) {
        const [from, to] = [Number(first || tooth), Number(last || tooth)];
        if (Math.min(from, to) >= 1 && Math.max(from, to) <= count) waiting.push(...round(from, to, count));
      }
    }
    return found;
  }

  function write(selects, sound) {
    const runs = [];
    selects.forEach((select, index) => {
      if (select.value === sound) return;
      const run = runs[runs.length - 1];
      if (run && run.condition === select.value && run.last === index) run.last = index + 1;
      else runs.push({ first: index + 1, last: index + 1, condition: select.value });
    });
    return runs
      .map(({ first, last, condition }) => `${first === last ? first : `${first}-${last}`} ${wordOf(selects[0], condition)}`)
      .join(", ");
  }

  function show(select) {
    const tooth = select.closest(".tooth");
    const button = tooth.querySelector(".tooth-button");
    tooth.dataset.condition = select.value;
    if (!button) return;
    button.querySelector(".tooth-shape").dataset.condition = select.value;
    const before = tooth.dataset.before ? `, last time ${wordOf(select, tooth.dataset.before)}` : "";
    const number = tooth.querySelector(".tooth-number").textContent;
    button.setAttribute("aria-label", `Tooth ${number}: ${wordOf(select, select.value)}${before}`);
  }

  function join(editor, list, allSound) {
    const selects = [...editor.querySelectorAll("select")];
    const choices = [...selects[0].options];
    const sound = choices[0].value;
    const known = new Map(choices.flatMap((one) => [
      [one.value, one.value], [one.textContent.trim(), one.value],
    ]));
    const fromList = () => {
      const found = read(list.value, known, selects.length);
      selects.forEach((select, index) => {
        select.value = found.get(index + 1) || sound;
        show(select);
      });
    };
    for (const select of selects) select.removeAttribute("name");
    editor.hidden = false;
    editor.disabled = false;
    list.addEventListener("input", fromList);
    editor.addEventListener("change", (event) => {
      if (event.target.type === "radio") return;
      list.value = write(selects, sound);
      if (list.value) allSound.checked = false;
    });
    fromList();
  }

  document.addEventListener("DOMContentLoaded", () => {
    const editor = document.querySelector("[data-tooth-editor]");
    const list = document.querySelector("[data-tooth-list]");
    if (editor && list) join(editor, list, list.form.elements.all_sound);
  });
})();
