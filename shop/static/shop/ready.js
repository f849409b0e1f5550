// Has pages stand ready on the device for when there is no network.
"use strict";

(() => {
  const { person, addressOf } = window.sweepbook;

  // A browser keeps pages only of a site that it came to over HTTPS, or on the machine itself.
  function sayOfflineIsOff() {
    const form = document.querySelector("form[data-queue]");
    if (!form) return;
    const words = document.createElement("p");
    words.className = "offline-off";
    words.textContent =
      "Offline is off: this site came without HTTPS, so this device cannot open the page while there is no network.";
    form.before(words);
  }

  // Each label's address with the form it leads to, of every machine that the page tells of.
  function labels() {
    const told = [...document.querySelectorAll("[data-label][data-log]")];
    return [...new Map(told.map(({ dataset }) => [dataset.label, dataset.log]))].map(([short, leadsTo]) => ({ short, leadsTo }));
  }

  async function standReady() {
    if (!window.isSecureContext) sayOfflineIsOff();
    if (!("serviceWorker" in navigator)) return;
    if (!person) {
      await caches.delete("pages"); // nobody is signed in: what was kept is nobody's to read
      return;
    }
    const { worker, waiting } = document.body.dataset;
    await navigator.serviceWorker.register(worker, { scope: "/" });
    const { active } = await navigator.serviceWorker.ready;
    const links = [...document.querySelectorAll("a[data-keep]")].map((link) => link.href);
    // A link within a drawing has its address as text alone.
    const addressIn = (link) => new URL(link.getAttribute("href"), location.href).href.split("#")[0];
    const further = [...document.querySelectorAll("main a[href]")].map(addressIn);
    const forms = [...document.querySelectorAll("form[data-queue]")].map((form) => new URL(addressOf(form), location.href).href);
    // The page that brought the worker was not fetched by it; what it has already it does not fetch again.
    const here = [location.href.split("#")[0]];
    active.postMessage({
      keep: { addresses: [...new Set([new URL(waiting, location.href).href, ...forms, ...links])], here, further: [...new Set(further)], labels: labels() },
    });
  }

  document.addEventListener("DOMContentLoaded", () => standReady().catch(() => {}));
})();
