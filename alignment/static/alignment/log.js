// The log of what happened: stations ticked by tapping the picture, one tap for "same place as last
// time", and the moment it is sent.
"use strict";

(() => {
  function sameAsLast(form, button) {
    const stations = button.dataset.same.split(" ");
    for (const box of form.querySelectorAll("input[name=stations]")) {
      box.checked = stations.includes(box.value);
    }
    showTicks(form);
  }

  // A label in the picture ticks its box by itself; it shows what the box says.
  function showTicks(form) {
    for (const label of form.querySelectorAll("[data-tap]")) {
      label.classList.toggle("ticked", document.getElementById(label.dataset.tap).checked);
    }
  }

  const onTheClock = (moment) => {
    const local = new Date(moment.getTime() - moment.getTimezoneOffset() * 60000);
    return local.toISOString().slice(0, 16);
  };

  // The page may have been kept for days: unless somebody sets the time, it happened when it was
  // logged; an entry that is put right keeps the moment it was logged first.
  function prepare(form) {
    const when = form.elements.happened_at;
    let loggedFirst = "";
    when.addEventListener("change", () => (when.dataset.touched = "yes"));
    form.addEventListener("queue:begin", () => {
      loggedFirst = "";
      delete when.dataset.touched;
      when.value = onTheClock(new Date());
    });
    form.addEventListener("queue:fill", (event) => {
      const [told] = event.detail.get("happened_at") || [""];
      if (told.endsWith("Z")) {
        loggedFirst = told;
        when.value = onTheClock(new Date(told));
      } else when.dataset.touched = "yes";
    });
    form.addEventListener("formdata", (event) => {
      if (!when.dataset.touched) event.formData.set("happened_at", loggedFirst || new Date().toISOString());
    });
  }

  document.addEventListener("DOMContentLoaded", () => {
    const form = document.querySelector("form[data-log]");
    if (!form) return;
    const button = form.querySelector("[data-same]");
    if (button) button.addEventListener("click", () => sameAsLast(form, button));
    if (button) button.hidden = false;
    prepare(form);
    form.addEventListener("change", () => showTicks(form));
    form.addEventListener("queue:fill", () => setTimeout(showTicks, 0, form));
    showTicks(form);
  });
})();
