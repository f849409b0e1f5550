// Folded parts of a page: what an address points at is unfolded and brought into view.
"use strict";

(() => {
  function unfold() {
    const target = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
    if (!target) return;
    const own = target.querySelector(":scope > details, :scope > summary");
    for (let one = own || target; one; one = one.parentElement) {
      if (one instanceof HTMLDetailsElement) one.open = true;
    }
    target.scrollIntoView({ block: "nearest" });
  }

  document.addEventListener("DOMContentLoaded", unfold);
  window.addEventListener("hashchange", unfold);
})();
