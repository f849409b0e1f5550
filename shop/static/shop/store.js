// What this device keeps: entries until the server has them, and forms that are half filled.
"use strict";

window.sweepbook = (() => {
  const DATABASE = "sweepbook";
  const VERSION = 2;
  const STORES = { entries: "id", drafts: "key" };

  function open() {
    return new Promise((resolve, reject) => {
      const opening = indexedDB.open(DATABASE, VERSION);
      opening.onupgradeneeded = () => {
        for (const [name, keyPath] of Object.entries(STORES)) {
          if (!opening.result.objectStoreNames.contains(name)) opening.result.createObjectStore(name, { keyPath });
        }
      };
      opening.onsuccess = () => resolve(opening.result);
      opening.onerror = () => reject(opening.error);
    });
  }

  async function inStore(name, mode, work) {
    const database = await open();
    try {
      return await new Promise((resolve, reject) => {
        const change = database.transaction(name, mode);
        const asked = work(change.objectStore(name));
        change.oncomplete = () => resolve(asked.result);
        change.onabort = () => reject(change.error);
      });
    } finally {
      database.close();
    }
  }

  const storeOf = (name) => ({
    put: (one) => inStore(name, "readwrite", (store) => store.put(one)),
    drop: (key) => inStore(name, "readwrite", (store) => store.delete(key)),
    clear: () => inStore(name, "readwrite", (store) => store.clear()),
    get: (key) => inStore(name, "readonly", (store) => store.get(key)),
    all: () => inStore(name, "readonly", (store) => store.getAll()),
  });
  const entries = storeOf("entries");
  const drafts = storeOf("drafts");

  // In the order they were made.
  async function allEntries() {
    return (await entries.all()).sort((one, other) => one.made - other.made);
  }

  function newId() {
    if (crypto.randomUUID) return crypto.randomUUID();
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
  }

  return {
    WAITING: "waiting",
    REFUSED: "refused",
    person: document.body.dataset.user, // nobody's when nobody is signed in
    entries: { ...entries, all: allEntries },
    drafts,
    newId,
    addressOf: (form) => form.getAttribute("action") || location.pathname + location.search,
    // Told to the scripts that show what waits.
    changed: () => document.dispatchEvent(new CustomEvent("queue:changed")),
    clock: (moment) => new Date(moment).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" }),
  };
})();
