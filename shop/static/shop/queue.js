// Keeps entries on the device until the server has them: each once, none lost.
"use strict";

(() => {
  const { WAITING, REFUSED, person, entries, newId, addressOf, changed, fill, tellAbove, clock } = window.sweepbook;
  const SEND_AGAIN_MS = 15000;
  const PATIENCE_MS = 30000;
  const PATIENCE_WITH_FILES_MS = 180000;
  // While an entry is open to be put right it is not sent; a page that is left lets go of it.
  const HELD_MS = 45000;
  const HOLD_AGAIN_MS = 15000;
  const LONGEST_SIDE_PX = 1600;
  const REASONS = {
    403: "You may not do this here any longer.",
    404: "The page it was entered on is gone, or you may no longer see it.",
    413: "The photos are larger than the server takes.",
  };

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

  function post(entry) {
    const hasFiles = entry.fields.some(([, value]) => value instanceof File);
    return fetch(entry.address, {
      method: "POST",
      body: body(entry),
      credentials: "same-origin",
      headers: { "X-CSRFToken": cookie("__Host-csrftoken") || cookie("csrftoken"), "X-Entry-Made-By": entry.person },
      signal: AbortSignal.timeout(hasFiles ? PATIENCE_WITH_FILES_MS : PATIENCE_MS),
    });
  }

  // What became of it: "saved" with its address, "refused" with the reasons, or "waiting" and why.
  // `unsure`: the server may have it, though its answer never came.
  async function send(entry) {
    let response;
    try {
      response = await post(entry);
    } catch {
      return { became: WAITING, why: "There is no connection.", unsure: entry.unsure || navigator.onLine };
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
    if (answer.became === "saved") {
      await entries.drop(entry.id);
      tellItWasSent(entry, answer.address);
    } else {
      const { became, reasons = [], why = "", unsure = false } = answer;
      await entries.put({ ...entry, state: became, reasons, why, unsure });
    }
    return answer;
  }

  const isHeld = (entry) => (entry.heldUntil || 0) > Date.now();
  const isToBeSent = (entry) => entry.state === WAITING && entry.person === person && !isHeld(entry);

  // One tab at a time; the entries in the order they were made.
  async function sendAll() {
    if (!person) return;
    await alone(async () => {
      for (const entry of await entries.all()) {
        if (!isToBeSent(entry)) continue;
        const answer = await settle(entry);
        if (answer.became === WAITING) break;
      }
    });
    changed();
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

  // The machine that an entry stops, by what its form says of itself; undefined for none.
  function stopIn(form, fields) {
    const { stops, stopsName } = form.dataset;
    const answer = fields.find(([name]) => name === "may_run");
    return stops && (!answer || answer[1] === "no") ? { machine: stops, name: stopsName } : undefined;
  }

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
      stops: stopIn(form, fields),
      workedOut: form.dataset.workedOut || "",
      state: WAITING,
      reasons: [],
    };
  }

  /* ---------- saying what became of it ---------- */

  function tellRefused(form, { summary, reasons }) {
    const notice = document.createElement("div");
    notice.className = "error-summary";
    notice.setAttribute("role", "alert");
    if (summary) notice.append(...document.importNode(summary, true).childNodes);
    else notice.textContent = reasons.join(" ");
    return tellAbove(form, notice);
  }

  function tellKept(form, words, entry) {
    const notice = document.createElement("div");
    notice.className = "kept message";
    notice.setAttribute("role", "status");
    notice.dataset.of = entry.id;
    notice.textContent = words;
    return tellAbove(form, notice);
  }

  function tell(form, answer, entry) {
    const stopped = entry.stops ? `Machine ${entry.stops.name} is stopped on this device only. ` : "";
    const workedOut = entry.workedOut ? ` Worked out on this device: ${entry.workedOut}` : "";
    const notice =
      answer.became === REFUSED
        ? tellRefused(form, answer)
        : tellKept(form, `${stopped}Kept on this device, not sent yet. ${answer.why}${workedOut}`, entry);
    notice.focus();
    notice.scrollIntoView({ block: "center" });
  }

  // A page that said it was kept here says when it went, and where it is now.
  function tellItWasSent(entry, address) {
    const notice = document.querySelector(`.kept[data-of="${entry.id}"]`);
    if (!notice) return;
    const link = document.createElement("a");
    link.href = address;
    link.textContent = "Open it";
    notice.replaceChildren(`Sent at ${clock(Date.now())}. `, link);
    delete notice.dataset.of;
  }

  /* ---------- a form is sent ---------- */

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
      await keepAndSend(form, submitter);
    } catch {
      // The device keeps nothing (private window, full memory): send it the plain way.
      sendPlainly(form, submitter);
    } finally {
      delete form.dataset.sending;
      delete form.dataset.sent;
      if (submitter) submitter.removeAttribute("aria-disabled");
    }
  }

  async function keepAndSend(form, submitter) {
    const entry = await taken(form, submitter);
    await entries.put(entry);
    changed();
    const answer = await alone(() => settle(entry));
    await window.sweepbook.forgetDraft?.(form);
    if (answer.became === "saved") {
      location.assign(answer.address);
      return;
    }
    if (answer.became === WAITING && submitter?.value === "next" && form.dataset.next) {
      location.assign(form.dataset.next);
      return;
    }
    if (answer.became === WAITING) begin(form, true);
    tell(form, answer, entry);
    changed();
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
      for (const control of form.querySelectorAll("textarea, input")) {
        control.dispatchEvent(new Event("input", { bubbles: true }));
      }
    }
    form.dispatchEvent(new CustomEvent("queue:begin", { bubbles: true, detail: { again } }));
  }

  /* ---------- putting an entry right ---------- */

  const formFor = (entry) => {
    const forms = [...document.querySelectorAll("form[data-queue]")];
    return forms.find((form) => addressOf(form) === entry.address) || forms[0];
  };

  async function openAgain(entry, form) {
    fill(form, entry.fields);
    form.dataset.entry = entry.id;
    if (entry.state === REFUSED) {
      tellRefused(form, entry);
      return;
    }
    const unsure = entry.unsure ? " The server may have it already; if so, what it has stands." : "";
    tellKept(form, `Not sent yet. Change what is wrong and save it again.${unsure}`, entry);
    await hold(entry.id);
    setInterval(() => hold(entry.id), HOLD_AGAIN_MS);
  }

  async function hold(id) {
    const entry = await entries.get(id);
    if (entry && entry.state === WAITING) await entries.put({ ...entry, heldUntil: Date.now() + HELD_MS });
  }

  async function fillIfAsked() {
    const id = new URLSearchParams(location.hash.slice(1)).get("entry");
    const entry = id && (await entries.get(id));
    const form = entry && formFor(entry);
    if (form) await openAgain(entry, form);
  }

  window.sweepbook.sendNow = (entry) => alone(() => settle(entry));

  document.addEventListener("submit", submitted);
  window.addEventListener("online", () => sendAll());
  document.addEventListener("DOMContentLoaded", async () => {
    for (const form of document.querySelectorAll("form[data-queue]")) begin(form, false);
    try {
      await fillIfAsked();
      await sendAll();
      setInterval(async () => {
        if ((await entries.all()).some(isToBeSent)) await sendAll();
      }, SEND_AGAIN_MS);
    } catch {
      // No store on this device: forms are sent the plain way.
    }
  });
})();
