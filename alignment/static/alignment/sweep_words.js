// A sweep that was worked out on the device in the words of alignment/sweeps/glance.py. Nothing here looks at a page;
// tests/alignment/test_fit_on_device.py holds them against the Python ones. `write`: what turns µm into text; `facts`:
// those of alignment/sweeps/on_device.py.
"use strict";

(() => {
  const OPPOSITE = { front: "rear", up: "down" };
  const number = (shown) => shown.split(" ")[0];
  const comesToSomething = (shown) => /[1-9]/.test(number(shown));

  // (length, direction) of both parts of a way, those left out that come to nothing.
  function partsOf(frontUm, upUm, write) {
    const both = [[frontUm, "front"], [upUm, "up"]];
    const sizes = both.map(([um, plus]) => [write(Math.abs(um)), um > 0 ? plus : OPPOSITE[plus]]);
    return sizes.filter(([size]) => comesToSomething(size));
  }

  function figureOf(um, facts, write, words) {
    const text = write(facts.plus ? Math.abs(um) : um);
    return facts.plus && comesToSomething(text) ? `${text} ${words[um > 0 ? facts.plus : OPPOSITE[facts.plus]]}` : text;
  }

  function moveOf(found, facts, write) {
    if (!facts.movers) return "";
    const by = (direction) => (facts.movers[direction] ? ` (${facts.movers[direction]})` : "");
    const parts = partsOf(-found.frontUm, -found.upUm, write);
    return parts.map(([size, direction]) => `${number(size)} ${facts.short[direction]}${by(direction)}`).join(", ");
  }

  function directionsOf(found, facts, write) {
    if (!["offset", "tilt"].includes(facts.quantity)) return [];
    const lean = facts.isTilt ? "leans " : "";
    const parts = partsOf(found.frontUm, found.upUm, write);
    return parts.map(([size, direction]) => `${lean}${facts.short[direction]} ${number(size)}`);
  }

  const words = { number, comesToSomething, figureOf, moveOf, directionsOf };
  if (typeof module !== "undefined") module.exports = words;
  else window.sweepWords = words;
})();
