// Signing out takes from the device what it kept, but for entries the server has not got: it asks.
"use strict";

(() => {
  const { entries, drafts, person } = window.sweepbook;

  const isMine = (entry) => entry.person === person;

  async function clearKept() {
    await Promise.allSettled([drafts.clear(), "caches" in window && caches.delete("pages")]);
  }

  function words(kept) {
    const stops = kept.filter((entry) => entry.stops).map(({ stops }) => `Machine ${stops.name}: stopped, not sent yet.`);
    const offline = navigator.onLine ? [] : ["There is no network: the server cannot sign you out now. Lock this device."];
    if (!kept.length) return offline;
    const number = kept.length === 1 ? "1 entry was" : `${kept.length} entries were`;
    return [...new Set(stops), `${number} not sent yet.`, ...offline];
  }

  function button(text, className, press) {
    const made = Object.assign(document.createElement("button"), { type: "button", textContent: text, className });
    made.addEventListener("click", () => press(made));
    return made;
  }

  // Resolves to "keep", "drop" or "stay"; without a network nobody can be signed out.
  function ask(kept) {
    return new Promise((resolve) => {
      const dialog = document.createElement("dialog");
      dialog.className = "panel stack";
      dialog.setAttribute("aria-label", "Not sent yet");
      const done = (answer) => {
        dialog.remove();
        resolve(answer);
      };
      const dropping = (pressed) => {
        if (pressed.dataset.sure) done("drop");
        pressed.dataset.sure = "yes";
        pressed.textContent = "Throw away for good and sign out";
      };
      const lines = words(kept).map((line) => Object.assign(document.createElement("p"), { textContent: line }));
      const keeping = button("Keep on this device and sign out", "button wide", () => done("keep"));
      const leaving = [keeping, ...(kept.some(isMine) ? [button("Throw away and sign out", "button danger wide", dropping)] : [])];
      const stay = button("Stay signed in", "button primary wide", () => done("stay"));
      dialog.append(...lines, stay, ...(navigator.onLine ? leaving : []));
      dialog.addEventListener("cancel", () => done("stay"));
      document.body.append(dialog);
      dialog.showModal();
    });
  }

  async function leave(form) {
    const kept = await entries.all().catch(() => []);
    const answer = kept.length || !navigator.onLine ? await ask(kept) : "keep";
    if (answer === "stay") return;
    if (answer === "drop") await Promise.all(kept.filter(isMine).map((entry) => entries.drop(entry.id)));
    window.sweepbook.isLeaving = true; // nothing is kept any more, though a box may still say that it changed
    await clearKept();
    form.submit();
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!form.matches("form[data-leaving]")) return;
    event.preventDefault();
    leave(form);
  });
})();
