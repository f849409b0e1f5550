// Reads a length as shop/lengths.py does and shows one as shop/rounding.py, for when no server can.
"use strict";

(() => {
  const INCH = 25400;
  const UM_PER = { in: INCH, mm: 1000, um: 1 };
  // What a bare number may count in besides: parts of an inch. A dial's divisions are told along.
  const UM_PER_COUNT = { ...UM_PER, thou: INCH / 1000, tenths: INCH / 10000 };
  const SYMBOLS = { in: "in", mm: "mm", um: "µm" };
  const USUAL_PLACES = { in: 5, mm: 4, um: 1 };
  const FINEST_PLACES = { in: 6, mm: 5, um: 2 };
  const NAMES = new Map([
    ...["in", "inch", "inches", '"'].map((name) => [name, INCH]),
    ...["thou", "thous"].map((name) => [name, INCH / 1000]),
    ...["tenth", "tenths"].map((name) => [name, INCH / 10000]),
    ...["μin", "uin", "microinch", "microinches"].map((name) => [name, INCH / 1e6]),
    ...["mm", "millimetre", "millimetres", "millimeter", "millimeters"].map((name) => [name, 1000]),
    ...["μm", "um", "μ", "mic", "mics", "micron", "microns", "micrometre", "micrometres"].map((name) => [name, 1]),
  ]);
  const LONGEST_TEXT = 40;
  const STEPS_PER_UM = 10000; // lengths are kept to 0.0001 µm

  function cleaned(text) {
    return text
      .replace(/[\u2212\u2010\u2011\u2013\ufe63\uff0d]/g, "-")
      .replace(/[\u201d\u201c\u2033]|''|\u2032\u2032|\u2019\u2019/g, '"')
      .trim()
      .toLowerCase()
      .replaceAll("µ", "μ");
  }

  const SIGNED = /^([+-]?)\s*([0-9.,]+(?:(?:\s+[0-9]+)?\s*\/\s*[0-9]+)?)\s*([+-]?)\s*(.*?)\s*([+-]?)$/s;
  const FRACTION = /^(?:([0-9]+)\s+)?([0-9]+)\s*\/\s*([0-9]+)$/;
  const DECIMAL = /^(?=.*[0-9])[0-9]*[.,]?[0-9]*$/;
  const GROUPED = /^[1-9][0-9]{0,2},[0-9]{3}$/;
  const HUNDREDTHS = /^hundredths?(?:\s*(?:of\s+a\s+)?mm)?$/;
  const DIVISION = /^(?:div|divs|division|divisions)(?:\s*of\s+(?:a\s+)?(.+))?$/s;

  // What stands before the unit, or null.
  function numberIn(digits) {
    const parts = digits.match(FRACTION);
    if (parts) return Number(parts[3]) ? Number(parts[1] || 0) + Number(parts[2]) / Number(parts[3]) : null;
    return DECIMAL.test(digits) && !GROUPED.test(digits) ? Number(digits.replace(",", ".")) : null;
  }

  function umPerUnit(name, count, divisionUm) {
    if (!name) return count === "div" ? divisionUm : UM_PER_COUNT[count];
    if (HUNDREDTHS.test(name)) return 10;
    const division = name.match(DIVISION);
    if (!division) return NAMES.get(name.startsWith("in") ? name.replace(/\.$/, "").trim() : name);
    const one = division[1] ? readUm(division[1], "mm") : divisionUm;
    return one === null ? null : Math.abs(one);
  }

  // Micrometres, or null for what it cannot read or what can be read in two ways. count: what a bare
  // number counts in: "in", "mm", "um", "tenths", "thou", or "div" of `divisionUm` each.
  function readUm(text, count, { divisionUm = null, longestUm = 1e8 } = {}) {
    const found = text.length > LONGEST_TEXT ? null : cleaned(text).match(SIGNED);
    if (!found) return null;
    const [, before, digits, after, name, last] = found;
    const isBareFraction = digits.includes("/") && !name && ["in", "mm"].includes(count);
    const [sign, number, umPer] = [before + after + last, numberIn(digits), umPerUnit(name, count, divisionUm)];
    if (sign.length > 1 || number === null || isBareFraction || typeof umPer !== "number") return null;
    const steps = number * umPer * STEPS_PER_UM;
    const kept = Math.round(steps);
    if (Math.abs(steps - kept) > 1e-12 * Math.abs(steps) + 1e-6 || kept > longestUm * STEPS_PER_UM) return null;
    return ((sign === "-" ? -1 : 1) * kept) / STEPS_PER_UM + 0;
  }

  // Rounded half up to the places a computed length is shown with.
  function show(um, unit, { signed = false, places = USUAL_PLACES[unit] } = {}) {
    const step = 10 ** places;
    const size = Math.round((Math.abs(um) / UM_PER[unit]) * step + 1e-9) / step;
    const sign = size === 0 ? "" : um < 0 ? "-" : signed ? "+" : "";
    return `${sign}${size.toFixed(places)} ${SYMBOLS[unit]}`;
  }

  /* ---------- how finely, by shop/rounding.py ---------- */

  // The place of a size's first digit, counted in decimals of the unit; null for no size.
  function firstDigit(um, unit) {
    if (!um || !Number.isFinite(um)) return null;
    return -Number((Math.abs(um) / UM_PER[unit]).toExponential(6).split("e")[1]);
  }

  function placesFor(unit, uUm, toleranceUm) {
    const [byU, byTolerance] = [firstDigit(uUm, unit), firstDigit(toleranceUm, unit)];
    if (byU === null && byTolerance === null) return USUAL_PLACES[unit];
    const places = byU === null ? byTolerance + 1 : Math.max(byU, byTolerance ?? byU);
    return Math.min(Math.max(places, 0), FINEST_PLACES[unit]);
  }

  // A figure as finely as its uncertainty and its tolerance let stand, in µm, null for not known.
  function rounded(um, unit, { uUm = null, toleranceUm = null } = {}) {
    if (um === null || !Number.isFinite(um)) return "not known";
    return show(um, unit, { places: placesFor(unit, uUm, toleranceUm) });
  }

  const lengths = { readUm, show, rounded };
  if (typeof module !== "undefined") module.exports = lengths;
  else window.sweepLengths = lengths;
})();
