// Fills in what the browser and the country tell: the time zone, the unit and the currency.
"use strict";

(() => {
  const zone = document.querySelector("[data-zone]");
  if (zone && !zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone || "";

  const country = document.querySelector("[data-usual]");
  if (!country) return;
  const usual = JSON.parse(country.dataset.usual);
  const form = country.form;
  const currency = form.querySelector("[name=currency]");
  let filledIn = "";

  function followCountry() {
    const [unit, money] = usual[country.value] || [];
    if (!unit) return;
    const chosen = form.querySelector("[name=length_unit]:checked");
    const wanted = form.querySelector(`[name=length_unit][value="${unit}"]`);
    if (wanted && (!chosen || chosen.dataset.filledIn)) {
      wanted.checked = true;
      wanted.dataset.filledIn = "yes";
    }
    if (currency && (!currency.value || currency.value === filledIn)) {
      currency.value = money;
      filledIn = money;
    }
  }

  form.addEventListener("change", (event) => {
    if (event.target.name === "length_unit") delete event.target.dataset.filledIn;
  });
  country.addEventListener("change", followCountry);
  // Of a record that is there nothing is guessed.
  if (form.dataset.guess === undefined) return;
  if (!country.value) {
    const region = (navigator.language || "").split("-")[1];
    if (region && usual[region.toUpperCase()]) country.value = region.toUpperCase();
  }
  followCountry();
})();
