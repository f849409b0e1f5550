// Keeps entries on the device until the server has them: each once, none lost.
"use strict";

(() => {
  const DATABASE = "sweepbook";
  const ENTRIES = "entries";
  const WAITING = "waiting";
  const REFUSED = "refused";
  const SEND_AGAIN_MS = 15000;
  const LONGEST_SIDE_PX = 1600;
  const REASONS = {
    403: "You may not do this here any longer.",
    404: "The page it was entered on is gone, or you may no longer see it.",
    413: "The photos are larger than the server takes.",
  };
  const person = document.body.dataset.user;

  /* ---------- the store ---------- */

  function open() {
    return new Promise((resolve, reject) => {
      const opening = indexedDB.open(DATABASE, 1);
      opening.onupgradeneeded = () => opening.result.createObjectStore(ENTRIES, { keyPath: "id" });
      opening.onsuccess = () => resolve(opening.result);
      opening.onerror = () => reject(opening.error);
    });
  }

  async function inStore(mode, work) {
    const database = await open();
    try {
      return await new Promise((resolve, reject) => {
        const change = database.transaction(ENTRIES, mode);
        const asked = work(change.objectStore(ENTRIES));
        change.oncomplete = () => resolve(asked.result);
        change.onabort = () => reject(change.error);
      });
    } finally {
      database.close();
    }
  }

  const put = (entry) => inStore("readwrite", (store) => store.put(entry));
  const drop = (id) => inStore("readwrite", (store) => store.delete(id));
  const get = (id) => inStore("readonly", (store) => store.get(id));
  async function all() {
    const entries = await inStore("readonly", (store) => store.getAll());
    return entries.sort((one, other) => one.made - other.made);
  }

  function newId() {
    if (crypto.randomUUID) return crypto.randomUUID();
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/(.{8})(.{4})(.{4})(.{4})(.{12})/, "$1-$2-$3-$4-$5");
  }

  /* ---------- sending ---------- */

  function cookie(name) {
    const found = document.cookie.split("; ").find((pair) => pair.startsWith(`${name}=`));
    return found ? found.slice(name.length + 1) : "";
  }

  function body(entry) {
    const data = new FormData();
    for (const [name, value] of entry.fields) {
      if (name !== "csrfmiddlewaretoken" && name !== "entry_id") data.append(name, value);
    }
    data.append("entry_id", entry.id);
    return data;
  }

  function reasonsIn(html) {
    const page = new DOMParser().parseFromString(html, "text/html");
    const summary = page.querySelector(".error-summary");
    const told = [...(summary || page).querySelectorAll(summary ? "li" : ".errorlist li, .message")];
    const reasons = told.map((one) => one.textContent.replace(/\s+/g, " ").trim());
    return { summary, reasons: [...new Set(reasons)] };
  }

  // What became of it: "saved" with its address, "refused" with the reasons, or "waiting" and why.
  async function send(entry) {
    let response;
    try {
      response = await fetch(entry.address, {
        method: "POST",
        body: body(entry),
        credentials: "same-origin",
        headers: { "X-CSRFToken": cookie("__Host-csrftoken") || cookie("csrftoken"), "X-Entry-Made-By": entry.person },
      });
    } catch {
      return { became: WAITING, why: "There is no connection." };
    }
    if (response.status === 401) return { became: WAITING, why: "Sign in again, then it is sent." };
    if (response.status === 409) return { became: WAITING, why: "It is sent when whoever entered it signs in." };
    if (response.status === 422) {
      const { summary, reasons } = reasonsIn(await response.text());
      return { became: REFUSED, summary, reasons: reasons.length ? reasons : ["The server refused it."] };
    }
    if (response.ok) {
      const answer = await response.json().catch(() => null);
      if (answer && answer.saved) return { became: "saved", address: answer.saved };
    }
    if (REASONS[response.status]) return { became: REFUSED, reasons: [REASONS[response.status]] };
    return { became: WAITING, why: "The server could not take it just now." };
  }

  // Sends one entry and keeps the store true to what became of it.
  async function settle(entry) {
    const answer = await send(entry);
    if (answer.became === "saved") await drop(entry.id);
    else await put({ ...entry, state: answer.became, reasons: answer.reasons || [], why: answer.why || "" });
    return answer;
  }

  // One tab at a time; the entries in the order they were made.
  async function sendAll() {
    if (!person) return;
    await alone(async () => {
      for (const entry of await all()) {
        if (entry.state !== WAITING || entry.person !== person) continue;
        const answer = await settle(entry);
        if (answer.became === WAITING) break;
      }
    });
    await show();
  }

  function alone(work) {
    if (!navigator.locks) return work();
    return navigator.locks.request("sweepbook-queue", work);
  }

  /* ---------- taking an entry from its form ---------- */

  async function shrunk(file) {
    if (!(file instanceof File) || !file.type.startsWith("image/")) return file;
    try {
      const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
      const scale = Math.min(1, LONGEST_SIDE_PX / Math.max(picture.width, picture.height));
      const canvas = document.createElement("canvas");
      canvas.width = Math.max(1, Math.round(picture.width * scale));
      canvas.height = Math.max(1, Math.round(picture.height * scale));
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.85));
      return blob ? new File([blob], file.name.replace(/\.\w+$/, "") + ".jpg", { type: "image/jpeg" }) : file;
    } catch {
      return file; // the server says what is wrong with it
    }
  }

  const addressOf = (form) => form.getAttribute("action") || location.pathname + location.search;

  async function taken(form, submitter) {
    const fields = [];
    for (const [name, value] of new FormData(form, submitter)) {
      const isEmptyFile = value instanceof File && value.size === 0 && !value.name;
      if (!isEmptyFile) fields.push([name, await shrunk(value)]);
    }
    return {
      id: form.dataset.entry,
      person,
      address: addressOf(form),
      title: form.dataset.queue,
      made: Date.now(),
      fields,
      state: WAITING,
      reasons: [],
    };
  }

  function tell(form, answer) {
    const place = form.parentElement;
    for (const old of place.querySelectorAll(":scope > .error-summary, :scope > .kept")) old.remove();
    const notice = document.createElement("div");
    if (answer.became === REFUSED) {
      notice.className = "error-summary";
      notice.setAttribute("role", "alert");
      if (answer.summary) notice.append(...document.importNode(answer.summary, true).childNodes);
      else notice.textContent = answer.reasons.join(" ");
    } else {
      notice.className = "kept message";
      notice.setAttribute("role", "status");
      notice.textContent = `Kept on this device, not sent yet. ${answer.why}`;
    }
    notice.tabIndex = -1;
    place.insertBefore(notice, form);
    notice.focus();
    notice.scrollIntoView({ block: "center" });
  }

  async function submitted(event) {
    const form = event.target;
    const { submitter } = event;
    if (!form.dataset || !form.dataset.queue || event.defaultPrevented) return;
    if (submitter && submitter.name && submitter.name !== "save") return;
    event.preventDefault();
    if (form.dataset.sending) return;
    form.dataset.sending = "yes";
    if (!form.dataset.entry) begin(form, false); // drawn anew since the page was opened
    if (submitter) submitter.setAttribute("aria-disabled", "true");
    try {
      const entry = await taken(form, submitter);
      await put(entry);
      const answer = await alone(() => settle(entry));
      if (answer.became === "saved") {
        location.assign(answer.address);
        return;
      }
      if (answer.became === WAITING) begin(form, true);
      tell(form, answer);
      await show();
    } catch {
      // The device keeps nothing (private window, full memory): send it the plain way.
      sendPlainly(form, submitter);
    } finally {
      delete form.dataset.sending;
      delete form.dataset.sent;
      if (submitter) submitter.removeAttribute("aria-disabled");
    }
  }

  // A form sent by script leaves out the button that was pressed, and the server asks which it was.
  function sendPlainly(form, submitter) {
    if (submitter && submitter.name) {
      const pressed = document.createElement("input");
      Object.assign(pressed, { type: "hidden", name: submitter.name, value: submitter.value });
      form.append(pressed);
    }
    form.submit();
  }

  // A form that starts afresh makes a new entry, also when its page was kept from an earlier day.
  function begin(form, again) {
    form.dataset.entry = newId();
    if (again) {
      form.reset();
      for (const control of form.querySelectorAll("textarea, input")) control.dispatchEvent(new Event("input", { bubbles: true }));
    }
    form.dispatchEvent(new CustomEvent("queue:begin", { bubbles: true }));
  }

  /* ---------- putting a refused entry right ---------- */

  function fill(form, entry) {
    form.reset();
    form.dataset.entry = entry.id;
    const byName = new Map();
    for (const [name, value] of entry.fields) byName.set(name, [...(byName.get(name) || []), value]);
    for (const control of form.elements) {
      const values = byName.get(control.name);
      if (!values || ["csrfmiddlewaretoken", "entry_id"].includes(control.name)) continue;
      if (control.type === "file") {
        const files = new DataTransfer();
        for (const file of values) files.items.add(file);
        control.files = files.files;
      } else if (control.type === "radio" || control.type === "checkbox") {
        control.checked = values.includes(control.value);
      } else if (control.type !== "submit") {
        control.value = values[0];
      }
      control.dispatchEvent(new Event("input", { bubbles: true }));
    }
    form.dispatchEvent(new CustomEvent("queue:fill", { bubbles: true, detail: byName }));
    tell(form, { became: REFUSED, reasons: entry.reasons.length ? entry.reasons : ["It was not sent yet."] });
  }

  async function fillIfAsked() {
    const id = new URLSearchParams(location.hash.slice(1)).get("entry");
    const form = document.querySelector("form[data-queue]");
    const entry = id && form && (await get(id));
    if (entry) fill(form, entry);
  }

  /* ---------- saying what waits ---------- */

  function count(number, one, many) {
    return number === 1 ? `1 ${one}` : `${number} ${many}`;
  }

  async function show() {
    const entries = await all();
    const bar = document.getElementById("queue");
    const waiting = entries.filter((entry) => entry.state === WAITING).length;
    const refused = entries.length - waiting;
    if (bar) {
      const told = [];
      if (waiting) told.push(`${count(waiting, "entry waits", "entries wait")} on this device to be sent.`);
      if (refused) told.push(`${count(refused, "entry was", "entries were")} refused.`);
      bar.querySelector("[data-queue-told]").textContent = told.join(" ");
      bar.hidden = told.length === 0;
    }
    list(entries);
  }

  function list(entries) {
    const place = document.querySelector("[data-queue-list]");
    if (!place) return;
    place.hidden = false;
    place.querySelector("[data-queue-empty]").hidden = entries.length > 0;
    place.querySelector("[data-queue-rows]").replaceChildren(...entries.map((entry) => row(place, entry)));
  }

  function row(place, entry) {
    const made = place.querySelector("template[data-queue-row]").content.cloneNode(true);
    const part = (name) => made.querySelector(`[data-${name}]`);
    const isMine = entry.person === person;
    part("title").textContent = entry.title;
    part("state").textContent = entry.state;
    part("when").textContent = `Entered ${new Date(entry.made).toLocaleString()}. ${entry.why || ""}`;
    part("reasons").replaceChildren(
      ...entry.reasons.map((reason) => {
        const line = document.createElement("li");
        line.textContent = reason;
        return line;
      }),
    );
    const join = entry.address.includes("#") ? "&" : "#";
    part("open").href = `${entry.address}${join}entry=${entry.id}`;
    part("open").hidden = !isMine || entry.state !== REFUSED;
    part("send").hidden = !isMine;
    part("send").addEventListener("click", async () => {
      await alone(() => settle(entry));
      await show();
    });
    const dropping = part("drop");
    dropping.addEventListener("click", async () => {
      if (dropping.dataset.sure) {
        await drop(entry.id);
        await show();
      } else {
        dropping.dataset.sure = "yes";
        dropping.textContent = "Throw it away for good";
      }
    });
    return made;
  }

  /* ---------- pages that stand ready without a network ---------- */

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

  async function standReady() {
    if (!window.isSecureContext) sayOfflineIsOff();
    if (!("serviceWorker" in navigator)) return;
    if (!person) {
      await caches.delete("pages"); // nobody is signed in: what was kept is nobody's to read
      return;
    }
    await navigator.serviceWorker.register(document.body.dataset.worker, { scope: "/" });
    const { active } = await navigator.serviceWorker.ready;
    const links = [...document.querySelectorAll("a[data-keep]")].map((link) => link.href);
    const form = document.querySelector("form[data-queue]");
    const here = form ? [new URL(addressOf(form), location.href).href] : [];
    const { short } = document.body.dataset;
    const addresses = [...new Set([document.body.dataset.waiting, ...here, ...links])];
    active.postMessage({ keep: { addresses, short, leadsTo: here[0] } });
  }

  document.addEventListener("submit", submitted);
  window.addEventListener("online", () => sendAll());
  document.addEventListener("DOMContentLoaded", async () => {
    for (const form of document.querySelectorAll("form[data-queue]")) begin(form, false);
    standReady().catch(() => {});
    try {
      await fillIfAsked();
      await sendAll();
      setInterval(async () => {
        const entries = await all();
        if (entries.some((entry) => entry.state === WAITING && entry.person === person)) await sendAll();
      }, SEND_AGAIN_MS);
    } catch {
      // No store on this device: forms are sent the plain way.
    }
  });
})();
