// Works a sweep out on the device while no server answers, and says so; fit.js does the sums.
"use strict";

(() => {
  const { workOut, directionWords } = window.sweepFit;
  const { readUm, show } = window.sweepLengths;
  const PATIENCE_MS = 1500;
  const FIXED = { 4: [0, 90, 180, 270], 8: [0, 45, 90, 135, 180, 225, 270, 315] };
  const ANGLE = /^\+?(\d{1,3}(?:[.,]\d+)?|[.,]\d+)\s*(?:°|deg)?$/;
  const UNCERTAINTY_PLACES = { in: 6, mm: 4, um: 2 };
  class CannotRead extends Error {}

  /* ---------- what is typed ---------- */

  const readerOf = (form) => {
    const data = new FormData(form);
    const text = (name) => `${data.get(name) ?? ""}`.trim();
    const unit = text("unit");
    const checked = (value) => {
      if (value === null || !Number.isFinite(value)) throw new CannotRead();
      return value;
    };
    const length = (name, empty = 0) => (text(name) ? checked(readUm(text(name), unit)) : empty);
    const along = (name, empty = 0) =>
      text(name) ? Math.round(checked(readUm(text(name), unit === "in" ? "in" : "mm")) * 10) / 10000 : empty;
    const angle = (name, empty = 0) => {
      const found = text(name).toLowerCase().match(ANGLE);
      return text(name) ? checked(found && Number(found[1].replace(",", "."))) : empty;
    };
    const number = (name) => (text(name) ? checked(Number(text(name).replace(",", "."))) : 0);
    return { text, unit, length, along, angle, number };
  };

  // The boxes of one set; null while a reading is still to come.
  function sweepIn(read, prefix) {
    const fixed = FIXED[read.text("layout")];
    const count = fixed ? fixed.length : Number(read.text(`${prefix}-TOTAL_FORMS`));
    const [angles, readings] = [[], []];
    for (let box = 0; box < count; box += 1) {
      const angle = fixed ? fixed[box] : read.angle(`${prefix}-${box}-angle`, null);
      const reading = read.length(`${prefix}-${box}-reading`, null);
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
    const read = readerOf(form);
    try {
      const planes = planesIn(read);
      if (!planes) return { missing: true };
      const surface = facts.surface === "face" ? "face" : read.text("surface");
      const asked = { ...facts, surface, planes, radiusMm: read.along("radius") };
      const found = workOut(asked, knownIn(read, facts));
      return found ? { found, unit: read.unit } : { unread: true };
    } catch (error) {
      if (error instanceof CannotRead) return { unread: true };
      throw error;
    }
  }

  /* ---------- what is said of it ---------- */

  function wordsOf({ found, unit }, facts) {
    const value = show(found.valueUm, unit, { signed: facts.isSigned });
    const size = (um) => (um === null ? "not known" : show(um, unit, { places: UNCERTAINTY_PLACES[unit] }));
    const within = found.expandedUm === null ? "uncertainty not known" : `± ${size(found.expandedUm)} (U, k = ${found.k.toFixed(2)})`;
    const way = ["offset", "tilt"].includes(facts.quantity)
      ? directionWords(found.frontUm, found.upUm, (um) => /[1-9]/.test(show(um, unit)))
      : "";
    return { value, within, way, size };
  }

  function sentence(answer, facts) {
    const { value, within, way } = wordsOf(answer, facts);
    const per = facts.per && ` ${facts.per}`;
    return `${facts.label} ${value}${per}, ${within}${way && `, ${way}`}: ${answer.found.verdict}.`;
  }

  const element = (tag, className, ...inside) => {
    const made = document.createElement(tag);
    made.className = className;
    made.append(...inside);
    return made;
  };

  function figure(label, value, note = "", isMain = false) {
    const told = element("dd", "", element("span", "number", value), " ", element("span", "note", note));
    return element("div", isMain ? "result main" : "result", element("dt", "", label), told);
  }

  function figures(answer, facts) {
    const { found, unit } = answer;
    const { value, within, way, size } = wordsOf(answer, facts);
    const shown = [figure(facts.label, value, [facts.per, within, way].filter(Boolean).join(", "), true)];
    if (facts.quantity !== "front") shown.push(figure(found.frontUm < 0 ? "To the rear" : "To the front", show(Math.abs(found.frontUm), unit)));
    if (facts.quantity !== "up") shown.push(figure(found.upUm < 0 ? "Down" : "Up", show(Math.abs(found.upUm), unit)));
    if (facts.quantity !== "tir") shown.push(figure("TIR", show(found.tirUm, unit), "highest less lowest as read"));
    shown.push(figure("Form left over", found.isFormShown ? show(found.formUm, unit) : "three readings cannot show it"));
    shown.push(figure("Guard band", size(found.guardUm)));
    return element("dl", "results", ...shown);
  }

  function shownVerdict(verdict) {
    const template = [...document.querySelectorAll("template[data-verdict]")].find((one) => one.dataset.verdict === verdict);
    return element("p", "verdict-line", template.content.cloneNode(true));
  }

  function answerShown(answer, facts) {
    if (answer.found) return [shownVerdict(answer.found.verdict), figures(answer, facts)];
    const why = answer.missing
      ? "Readings are still missing."
      : "This device leaves it to the server: save it, and it is worked out when it is sent.";
    return [element("p", "empty-title", "Not worked out yet"), element("p", "", why)];
  }

  function bind(form) {
    const facts = JSON.parse(form.querySelector("[data-fit]").dataset.fit);
    const place = form.querySelector("[data-worked-here]");
    let timer = null;
    const showHere = () => {
      const answer = worked(form, facts);
      const note = element("p", "worked-here-note", element("strong", "", "Worked out on this device."), " The server has not got it yet.");
      const limits = element("dl", "facts", element("div", "", element("dt", "", "Tolerance"), element("dd", "", facts.limits)));
      place.replaceChildren(...(answer.found ? [note] : []), ...answerShown(answer, facts), limits);
    };
    const note = () => {
      const answer = worked(form, facts);
      form.dataset.workedOut = answer.found ? sentence(answer, facts) : "";
      if (!navigator.onLine) showHere();
    };
    form.addEventListener("input", note);
    form.addEventListener("queue:fill", note);
    place.addEventListener("htmx:beforeRequest", () => (timer = setTimeout(showHere, PATIENCE_MS)));
    for (const end of ["htmx:sendError", "htmx:timeout"]) place.addEventListener(end, showHere);
    for (const end of ["htmx:afterOnLoad", "htmx:sendError", "htmx:timeout"]) place.addEventListener(end, () => clearTimeout(timer));
    note();
  }

  document.addEventListener("DOMContentLoaded", () => {
    for (const form of document.querySelectorAll("form[data-queue]")) if (form.querySelector("[data-fit]")) bind(form);
  });
})();
