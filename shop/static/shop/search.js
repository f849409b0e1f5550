// The key / leads to the search from every page, unless somebody is typing.
"use strict";

document.addEventListener("keydown", (event) => {
  const way = document.querySelector("[data-search]");
  const isTyping = event.target.closest("input, textarea, select, [contenteditable]");
  if (!way || isTyping || event.key !== "/" || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  const box = document.getElementById("id_q");
  if (box) box.focus();
  else way.click();
});
