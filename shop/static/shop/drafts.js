// Keeps a half-filled form on the device, so that it survives a reload and a walk to the machine.
"use strict";

(() => {
  const { person, drafts, addressOf, fill, tellAbove, clock } = window.sweepbook;
  const KEPT_MS = 3 * 24 * 3600 * 1000;
  const WAIT_MS = 150;

  const keyOf = (form) => `${person} ${addressOf(form)}`;

  // A sweep is kept by the server as it is typed; here only what did not reach it.
  const isKeptByServer = (form) => form.dataset.draft === "unsent";
  const isEntryOpenedAgain = () => location.hash.includes("entry=");

  async function keep(form) {
    if (form.dataset.sending || window.sweepbook.isLeaving || isEntryOpenedAgain()) return;
    const fields = [...new FormData(form)].filter(([, value]) => !(value instanceof File) || value.name);
    await drafts.put({ key: keyOf(form), person, at: Date.now(), fields });
  }

  function watch(form) {
    let timer = null;
    const later = () => {
      clearTimeout(timer);
      timer = setTimeout(() => keep(form).catch(() => {}), WAIT_MS);
    };
    const byHand = (event) => event.isTrusted && later();
    form.addEventListener("input", byHand);
    form.addEventListener("change", later);
    form.addEventListener("click", byHand); // keys and teeth that a script answers to
    form.addEventListener("draft:stop", () => clearTimeout(timer));
    // Sent to be laid out anew: the page that comes back holds it.
    form.addEventListener("submit", ({ submitter }) => {
      if (submitter?.name && submitter.name !== "save") forget(form).catch(() => {});
    });
  }

  async function forget(form) {
    form.dispatchEvent(new Event("draft:stop"));
    await drafts.drop(keyOf(form));
  }

  function tellItIsBack(form, draft) {
    const notice = document.createElement("div");
    const afresh = document.createElement("button");
    notice.className = "kept message";
    notice.setAttribute("role", "status");
    Object.assign(afresh, { type: "button", className: "button", textContent: "Start afresh" });
    afresh.addEventListener("click", async () => {
      await forget(form);
      location.reload();
    });
    notice.append(`What you had entered by ${clock(draft.at)} is back. It is not saved yet. `, afresh);
    tellAbove(form, notice);
  }

  async function bringBack(form) {
    const draft = await drafts.get(keyOf(form));
    if (!draft || isEntryOpenedAgain() || document.querySelector("main .error-summary")) return;
    if (Date.now() - draft.at > KEPT_MS) {
      await drafts.drop(draft.key);
      return;
    }
    fill(form, draft.fields);
    tellItIsBack(form, draft);
  }

  window.sweepbook.forgetDraft = forget;

  document.addEventListener("DOMContentLoaded", async () => {
    if (!person) return;
    for (const form of document.querySelectorAll("form[data-draft]")) {
      await bringBack(form).catch(() => {});
      watch(form);
    }
  });
  // The server has what was typed so far.
  document.addEventListener("htmx:afterOnLoad", (event) => {
    const form = event.detail.elt.closest?.("form[data-draft]");
    if (form && isKeptByServer(form)) forget(form).catch(() => {});
  });
})();
