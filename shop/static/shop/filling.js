// Puts what was typed back into the boxes of its form.
"use strict";

(() => {
  const NOT_FILLED = ["csrfmiddlewaretoken", "entry_id"];

  function fillOne(control, values) {
    if (control.type === "file") {
      const files = new DataTransfer();
      for (const file of values) if (file instanceof File) files.items.add(file);
      control.files = files.files;
    } else if (control.type === "radio" || control.type === "checkbox") {
      control.checked = values.includes(control.value);
    } else if (control.type !== "submit" && control.type !== "button") {
      control.value = values[0];
    }
  }

  // fields: [name, value] as a form sends them; a box that sent nothing is empty.
  window.sweepbook.fill = (form, fields) => {
    form.reset();
    const byName = new Map();
    for (const [name, value] of fields) byName.set(name, [...(byName.get(name) || []), value]);
    for (const control of form.elements) {
      if (!control.name || NOT_FILLED.includes(control.name)) continue;
      if (byName.has(control.name)) fillOne(control, byName.get(control.name));
      else if (control.type === "radio" || control.type === "checkbox") control.checked = false;
      else continue;
      control.dispatchEvent(new Event("input", { bubbles: true }));
    }
    form.dispatchEvent(new CustomEvent("queue:fill", { bubbles: true, detail: byName }));
  };

  window.sweepbook.tellAbove = (form, notice) => {
    const place = form.parentElement;
    for (const old of place.querySelectorAll(":scope > .error-summary, :scope > .kept")) old.remove();
    notice.tabIndex = -1;
    place.insertBefore(notice, form);
    return notice;
  };
})();
