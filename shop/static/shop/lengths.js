// Reads a length as shop/lengths.py does, for when no server can; what it is not sure of it leaves to that.
"use strict";

(() => {
  const INCH = 25400;
  const UM_PER = { in: INCH, mm: 1000, um: 1 };
  const SYMBOLS = { in: "in", mm: "mm", um: "µm" };
  const USUAL_PLACES = { in: 5, mm: 4, um: 1 };
  const NAMES = new Map([
    ...["in", "inch", "inches", '"'].map((name) => [name, INCH]),
    ...["thou", "thous"].map((name) => [name, INCH / 1000]),
    ...["tenth", "tenths"].map((name) => [name, INCH / 10000]),
    ...["μin", "uin", "microinch", "microinches"].map((name) => [name, INCH / 1e6]),
    ...["mm", "millimetre", "millimetres", "millimeter", "millimeters"].map((name) => [name, 1000]),
    ...["μm", "um", "micron", "microns", "micrometre", "micrometres"].map((name) => [name, 1]),
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

  // Micrometres, or null for what it cannot read or what can be read in two ways. unit: "in", "mm"
  // or "um", what a bare number counts in.
  function readUm(text, unit, longestUm = 1e8) {
    if (text.length > LONGEST_TEXT) return null;
    const found = cleaned(text).match(/^([+-]?)\s*([0-9]*[.,]?[0-9]*)\s*(\D*)$/);
    if (!found || !/[0-9]/.test(found[2])) return null;
    const [, sign, digits, rest] = found;
    if (/^[1-9][0-9]{0,2},[0-9]{3}$/.test(digits)) return null;
    const name = rest.startsWith("in") ? rest.trim().replace(/\.$/, "").trim() : rest.trim();
    const umPer = name ? NAMES.get(name) : UM_PER[unit];
    if (umPer === undefined) return null;
    const steps = Number(digits.replace(",", ".")) * umPer * STEPS_PER_UM;
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

  const lengths = { readUm, show };
  if (typeof module !== "undefined") module.exports = lengths;
  else window.sweepLengths = lengths;
})();
