// Says what waits on this device: on every page in a line, a stop above all, and on its own page in full.
"use strict";

(() => {
  const { WAITING, REFUSED, person, entries, changed, sendNow } = window.sweepbook;
  const LOOK_AGAIN_MS = 15000;

  const element = (tag, text, className = "") => Object.assign(document.createElement(tag), { textContent: text, className });

  function count(number, one, many) {
    return number === 1 ? `1 ${one}` : `${number} ${many}`;
  }

  function told(kept) {
    const waiting = kept.filter((entry) => entry.state === WAITING).length;
    const refused = kept.length - waiting;
    const words = [];
    if (waiting) words.push(`${count(waiting, "entry waits", "entries wait")} on this device to be sent.`);
    if (refused) words.push(`${count(refused, "entry was", "entries were")} refused.`);
    return words.join(" ");
  }

  function showBar(kept) {
    const bar = document.getElementById("queue");
    if (!bar) return;
    bar.querySelector("[data-queue-told]").textContent = told(kept);
    bar.hidden = kept.length === 0;
  }

  /* ---------- a stop that only this device knows of ---------- */

  const stopsIn = (kept) => new Map(kept.filter((entry) => entry.stops).map(({ stops }) => [stops.machine, stops.name]));

  function showStops(kept) {
    const place = document.getElementById("stops");
    if (!place) return;
    const stops = stopsIn(kept);
    const lines = [...stops.values()].map((name) => element("p", `Machine ${name}: stopped, not sent yet`, "state"));
    place.querySelector("[data-stops-told]").replaceChildren(...lines);
    place.hidden = stops.size === 0;
    for (const state of document.querySelectorAll("[data-run-state]")) {
      state.toggleAttribute("data-stopped-here", stops.has(state.dataset.machine));
    }
  }

  /* ---------- what was worked out here, beside the links it belongs to ---------- */

  function showWorkedOut(kept) {
    for (const old of document.querySelectorAll(".worked-here")) old.remove();
    const isSame = (link, entry) => link.pathname === new URL(entry.address, location.href).pathname;
    for (const entry of kept.filter((one) => one.workedOut)) {
      const link = [...document.querySelectorAll("main a[href]")].find((one) => isSame(one, entry));
      if (link) link.after(element("span", `${entry.workedOut} Worked out on this device, not sent yet.`, "note worked-here"));
    }
  }

  /* ---------- the page that lists them ---------- */

  function showList(kept) {
    const place = document.querySelector("[data-queue-list]");
    if (!place) return;
    place.hidden = false;
    place.querySelector("[data-queue-empty]").hidden = kept.length > 0;
    place.querySelector("[data-queue-rows]").replaceChildren(...kept.map((entry) => row(place, entry)));
  }

  function row(place, entry) {
    const made = place.querySelector("template[data-queue-row]").content.cloneNode(true);
    const part = (name) => made.querySelector(`[data-${name}]`);
    const isMine = entry.person === person;
    part("title").textContent = entry.title;
    part("state").textContent = entry.state;
    const stopped = entry.stops ? `Machine ${entry.stops.name}: stopped, not sent yet. ` : "";
    const workedOut = entry.workedOut ? ` Worked out on this device: ${entry.workedOut}` : "";
    part("when").textContent = `${stopped}Entered ${new Date(entry.made).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" })}. ${entry.why || ""}${workedOut}`;
    part("reasons").replaceChildren(...entry.reasons.map((reason) => element("li", reason)));
    const join = entry.address.includes("#") ? "&" : "#";
    part("open").href = `${entry.address}${join}entry=${entry.id}`;
    part("open").hidden = !isMine;
    if (entry.state === REFUSED) part("open").textContent = "Put it right";
    part("send").hidden = !isMine;
    part("send").addEventListener("click", async () => {
      await sendNow(entry);
      changed();
    });
    askBeforeDropping(part("drop"), entry);
    return made;
  }

  function askBeforeDropping(button, entry) {
    button.addEventListener("click", async () => {
      if (button.dataset.sure) {
        await entries.drop(entry.id);
        changed();
      } else {
        button.dataset.sure = "yes";
        button.textContent = "Throw it away for good";
      }
    });
  }

  let shown = "";

  // Drawn anew only when something changed, so that no button moves from under a finger.
  async function show() {
    const kept = await entries.all();
    const now = JSON.stringify(kept.map(({ id, state, why, reasons }) => [id, state, why, reasons]));
    if (now === shown) return;
    shown = now;
    showBar(kept);
    showStops(kept);
    showWorkedOut(kept);
    showList(kept);
  }

  const look = () => show().catch(() => {}); // no store on this device: nothing waits

  document.addEventListener("queue:changed", look);
  document.addEventListener("htmx:afterSettle", () => {
    shown = "";
    look();
  });
  document.addEventListener("DOMContentLoaded", () => {
    look();
    setInterval(look, LOOK_AGAIN_MS);
  });
})();
