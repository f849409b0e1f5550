// Works a sweep out on the device while no server answers, and says so; fit.js does the sums.
"use strict";

(() => {
  const { workOut, directionWords } = window.sweepFit;
  const { readUm, show, rounded } = window.sweepLengths;
  const { number, comesToSomething, figureOf, moveOf, directionsOf } = window.sweepWords;
  const PATIENCE_MS = 1500;
  const FIXED = { 4: [0, 90, 180, 270], 8: [0, 45, 90, 135, 180, 225, 270, 315] };
  const ANGLE = /^\+?(\d{1,3}(?:[.,]\d+)?|[.,]\d+)\s*(?:°|deg)?$/;
  const ROUND = ["bore", "boss", "face"];
  const OPPOSITE = { front: "rear", up: "down" };
  class CannotRead extends Error {}

  /* ---------- what is typed ---------- */

  const readerOf = (form, facts) => {
    const data = new FormData(form);
    const text = (name) => `${data.get(name) ?? ""}`.trim();
    const unit = text("unit");
    const { divisionUm = null } = facts.indicators[text("indicator")] || {};
    const checked = (value) => {
      if (value === null || !Number.isFinite(value)) throw new CannotRead();
      return value;
    };
    const length = (name, empty = 0) => (text(name) ? checked(readUm(text(name), unit)) : empty);
    const reading = (name) =>
      text(name) ? checked(readUm(text(name), text("counts_in") || unit, { divisionUm })) : null;
    const along = (name, empty = 0) =>
      text(name) ? Math.round(checked(readUm(text(name), unit === "in" ? "in" : "mm")) * 10) / 10000 : empty;
    const angle = (name, empty = 0) => {
      const found = text(name).toLowerCase().match(ANGLE);
      return text(name) ? checked(found && Number(found[1].replace(",", "."))) : empty;
    };
    const number = (name) => (text(name) ? checked(Number(text(name).replace(",", "."))) : 0);
    return { text, unit, length, reading, along, angle, number };
  };

  // The boxes of one set; null while a reading is still to come.
  function sweepIn(read, prefix) {
    const fixed = FIXED[read.text("layout")];
    const count = fixed ? fixed.length : Number(read.text(`${prefix}-TOTAL_FORMS`));
    const [angles, readings] = [[], []];
    for (let box = 0; box < count; box += 1) {
      const angle = fixed ? fixed[box] : read.angle(`${prefix}-${box}-angle`, null);
      const reading = read.reading(`${prefix}-${box}-reading`);
      if (angle === null && reading === null) continue;
      if (angle === null || reading === null) return null;
      angles.push(angle);
      readings.push(reading);
    }
    return angles.length < 3 ? null : { angles, readings };
  }

  function planesIn(read) {
    const planes = new Map();
    const sets = Math.max(1, Number(read.text("sets")) || 1);
    for (let set = 0; set < sets; set += 1) {
      const prefix = set === 0 ? "readings" : `readings${set + 1}`;
      const [sweep, zMm] = [sweepIn(read, prefix), read.along(`${prefix}-z`, null)];
      if (!sweep) return null;
      planes.set(zMm, [...(planes.get(zMm) || []), sweep]);
    }
    if (planes.size > 1 && planes.has(null)) return null;
    const inOrder = [...planes].sort(([one], [other]) => one - other);
    return inOrder.map(([zMm, sweeps]) => ({ zMm, sweeps }));
  }

  function knownIn(read, facts) {
    const chosen = facts.indicators[read.text("indicator")];
    const turned = read.text("sag_on") === read.text("surface") ? 1 : -1;
    return {
      ...(chosen || { errorUm: 0, errorTravelUm: null, resolutionUm: 0 }),
      typedUm: read.length("reading_u"),
      sagUm: turned * read.length("sag"),
      sagUUm: read.length("sag_u"),
      leverDeg: read.angle("lever"),
      leverErrorDeg: read.angle("lever_error"),
      temperatureK: read.number("temperature"),
      lengthMm: read.along("length"),
      formUm: read.length("form", null),
    };
  }

  // { found }, or { missing } or { unread } for what is not there yet or is left to the server.
  function worked(form, facts) {
    const read = readerOf(form, facts);
    const surface = facts.surface === "face" ? "face" : read.text("surface");
    if (!ROUND.includes(surface)) return { unread: true };
    try {
      const planes = planesIn(read);
      if (!planes) return { missing: true };
      const asked = { ...facts, surface, planes, radiusMm: read.along("radius") };
      const found = workOut(asked, knownIn(read, facts));
      return found ? { found, unit: read.unit } : { unread: true };
    } catch (error) {
      if (error instanceof CannotRead) return { unread: true };
      throw error;
    }
  }

  /* ---------- what is said of it ---------- */

  // What is written with, as finely as the figure is known.
  function writers({ found, unit }, facts) {
    const known = { uUm: found.expandedUm, toleranceUm: facts.toleranceUm };
    return { write: (um) => rounded(um, unit, known), size: (um) => rounded(um, unit, { uUm: um }) };
  }

  function noteOf({ found, unit, size }, facts) {
    const within = found.expandedUm === null ? "uncertainty not known" : `± ${size(found.expandedUm)} (U, k = ${found.k.toFixed(2)})`;
    const isWayAsked = ["offset", "tilt"].includes(facts.quantity);
    const way = isWayAsked && directionWords(found.frontUm, found.upUm, (um) => comesToSomething(show(um, unit)));
    return [facts.per, within, way].filter(Boolean).join(", ");
  }

  const sentence = (answer, facts) =>
    `${facts.label} ${figureOf(answer.found.valueUm, facts, answer.write, facts.words)}, ${noteOf(answer, facts)}: ${answer.found.verdict}.`;

  /* ---------- where it is shown ---------- */

  const element = (tag, className, ...inside) => {
    const made = document.createElement(tag);
    made.className = className;
    made.append(...inside);
    return made;
  };
  const HERE = "Worked out on this device";
  const spaced = (spans) => spans.flatMap((span) => [span, " "]);

  function verdictOf({ found }, size) {
    const template = [...document.querySelectorAll("template[data-verdict]")].find((one) => one.dataset.verdict === found.verdict);
    const shown = template.content.cloneNode(true).querySelector(".verdict");
    shown.classList.toggle("large", size === "large");
    return shown;
  }

  function glanceOf(answer, facts) {
    if (answer.missing) return [element("p", "glance-note muted", "Plus is plunger pushed in")];
    if (answer.unread) return [element("p", "glance-note", "Worked out once it is sent")];
    const lines = [element("p", "glance-figure", figureOf(answer.found.valueUm, facts, answer.write, facts.short))];
    if (facts.per) lines.push(element("p", "glance-note", facts.per));
    const ways = directionsOf(answer.found, facts, answer.write).map((way) => element("span", "", way));
    lines.push(element("p", "glance-note", ...spaced(ways)), element("p", "", verdictOf(answer)));
    return lines;
  }

  function stripOf(answer, facts) {
    const [limits, ...last] = facts.strip;
    const u = answer.found ? [["U", number(answer.size(answer.found.expandedUm))]] : [];
    const said = [limits, ...u, ...last].map(([word, told]) => element("span", "", element("i", "", word), ` ${told}`));
    return spaced(said);
  }

  function moveShown(answer, facts) {
    if (!answer.found) return [];
    const move = moveOf(answer.found, facts, answer.write);
    const told = move ? ["Move ", element("strong", "", move), " "] : [];
    return [...told, element("span", "also", HERE)];
  }

  function figure(label, value, note = "", isMain = false) {
    const told = element("dd", "", element("span", "number", value), " ", element("span", "note", note));
    return element("div", isMain ? "result main" : "result", element("dt", "", label), told);
  }

  function figures(answer, facts) {
    const { found, write, size } = answer;
    const shown = [figure(facts.label, figureOf(found.valueUm, facts, write, facts.words), noteOf(answer, facts), true)];
    const lean = facts.isTilt ? "Leans " : "";
    const part = (um, plus) => {
      const way = `${lean}${facts.words[um < 0 ? OPPOSITE[plus] : plus]}`;
      return figure(way[0].toUpperCase() + way.slice(1), write(Math.abs(um)), facts.per);
    };
    if (facts.plus !== "front") shown.push(part(found.frontUm, "front"));
    if (facts.plus !== "up") shown.push(part(found.upUm, "up"));
    if (!facts.isTilt && facts.quantity !== "tir") shown.push(figure("TIR", write(found.tirUm), "highest less lowest as read"));
    const form = found.isFormShown ? [write(found.formUm), "what no offset explains"] : ["–", "three readings cannot show it"];
    shown.push(figure("Out-of-round", ...form), figure("Guard band", size(found.guardUm)));
    return element("dl", "results", ...shown);
  }

  function fullOf(answer, facts) {
    const limits = element("dl", "facts", element("div", "", element("dt", "", "Tolerance"), element("dd", "", facts.limits)));
    if (answer.found) {
      const note = element("p", "worked-here-note", element("strong", "", `${HERE}.`), " The server has not got it yet.");
      return [note, element("p", "verdict-line", verdictOf(answer, "large")), limits, figures(answer, facts)];
    }
    const why = answer.missing
      ? "Readings are still missing."
      : "This device leaves it to the server: save it, and it is worked out when it is sent.";
    return [element("p", "empty-title", "Not worked out yet"), element("p", "", why), limits];
  }

  function bind(form) {
    const facts = JSON.parse(form.querySelector("[data-fit]").dataset.fit);
    const place = form.querySelector("[data-worked-here]");
    let timer = null;
    const answered = () => {
      const answer = worked(form, facts);
      return answer.found ? { ...answer, ...writers(answer, facts) } : answer;
    };
    const showHere = () => {
      const answer = answered();
      const parts = { glance: glanceOf, strip: stripOf, move: moveShown, full: fullOf };
      for (const [name, told] of Object.entries(parts)) place.querySelector(`.${name}`).replaceChildren(...told(answer, facts));
      document.getElementById("live-said").textContent = answer.found ? `${HERE}: ${sentence(answer, facts)}` : "";
    };
    const note = () => {
      const answer = answered();
      form.dataset.workedOut = answer.found ? sentence(answer, facts) : "";
      if (!navigator.onLine) showHere();
    };
    form.dataset.fitted = "yes";
    form.addEventListener("input", note);
    form.addEventListener("queue:fill", note);
    place.addEventListener("htmx:beforeRequest", () => (timer = setTimeout(showHere, PATIENCE_MS)));
    for (const end of ["htmx:sendError", "htmx:timeout"]) place.addEventListener(end, showHere);
    for (const end of ["htmx:afterOnLoad", "htmx:sendError", "htmx:timeout"]) place.addEventListener(end, () => clearTimeout(timer));
    note();
  }

  // The form comes anew where its boxes are laid out or counted otherwise.
  function bindAll() {
    for (const form of document.querySelectorAll("form[data-queue]:not([data-fitted])")) {
      if (form.querySelector("[data-fit]")) bind(form);
    }
  }

  document.addEventListener("htmx:afterSettle", bindAll);
  document.addEventListener("DOMContentLoaded", bindAll);
})();
