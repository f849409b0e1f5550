{% load static %}// Answers for the site while there is no network: pages opened before, and what they are made of.
"use strict";

const PAGES = "pages";
const FILES = "files";
const MOST_PATIENCE_MS = 5000;
const STILL_FRESH_MS = 600000;
const LABEL_FRESH_MS = 43200000; // the form behind a label hardly changes within half a day
const WAITING = "{% url 'shop:waiting' %}";
const SIGN_OUTS = ["{% url 'shop:sign_out' %}", "{% url 'shop:device_done' %}"];
const STATIC = "{% get_static_prefix %}";
const KEPT = {{ kept_pages|safe }}.map((pattern) => new RegExp(pattern));
const KEPT_BEFORE_OPENED = {{ kept_before_opened|safe }}.map((pattern) => new RegExp(pattern));
const SHORT = /^\/m\/[^/]+\/$/;
const MADE_OF = [
  "{% static 'shop/sweepbook.css' %}",
  "{% static 'shop/sweepbook.js' %}",
  "{% static 'shop/store.js' %}",
  "{% static 'shop/filling.js' %}",
  "{% static 'shop/queue.js' %}",
  "{% static 'shop/waiting.js' %}",
  "{% static 'shop/drafts.js' %}",
  "{% static 'shop/leaving.js' %}",
  "{% static 'shop/ready.js' %}",
  "{% static 'shop/search.js' %}",
  "{% static 'django_htmx/htmx-2.min.js' %}",
  "{% static 'shop/favicon.svg' %}",
  "{% static 'shop/mark.svg' %}",
  "{% static 'machines/teeth.js' %}",
  "{% static 'machines/belt.js' %}",
  "{% static 'alignment/log.js' %}",
  "{% static 'shop/lengths.js' %}",
  "{% static 'alignment/fit.js' %}",
  "{% static 'alignment/sweep_words.js' %}",
  "{% static 'alignment/worked_here.js' %}",
  "{% static 'alignment/instrument.js' %}",
  "{% static 'alignment/instrument.css' %}",
];

const isKept = (url) => KEPT.some((pattern) => pattern.test(url.pathname));

async function keep(address, response) {
  const isPage = (response.headers.get("Content-Type") || "").startsWith("text/html");
  if (response.ok && !response.redirected && isPage) {
    const pages = await caches.open(PAGES);
    await pages.put(address, response);
  }
}

async function isFresh(address, freshMs) {
  const pages = await caches.open(PAGES);
  const old = await pages.match(address);
  return old && Date.now() - Date.parse(old.headers.get("Date")) < freshMs;
}

async function fetchAll(addresses, freshMs) {
  for (const address of addresses) {
    if (await isFresh(address, freshMs)) continue;
    await keep(address, await fetch(address, { credentials: "same-origin" }));
  }
}

const isKeptBeforeOpened = (address) => {
  const url = new URL(address);
  const isOurs = url.origin === self.location.origin;
  return isOurs && KEPT_BEFORE_OPENED.some((pattern) => pattern.test(url.pathname));
};

// Pages that stand ready before they are opened, the likeliest first; a label remembers where it leads.
async function keepAll({ addresses, here, further, labels }) {
  const pages = await caches.open(PAGES);
  for (const { short, leadsTo } of labels) await pages.put(short, new Response(leadsTo));
  try {
    await fetchAll([...here.filter((address) => isKept(new URL(address))), ...addresses], STILL_FRESH_MS);
    await fetchAll(further.filter(isKeptBeforeOpened), STILL_FRESH_MS);
    await fetchAll(labels.map(({ leadsTo }) => new URL(leadsTo, self.location.href).href), LABEL_FRESH_MS);
  } catch {
    // No network any more: what is kept so far is kept.
  }
}

async function kept(request) {
  const pages = await caches.open(PAGES);
  const url = new URL(request.url);
  if (SHORT.test(url.pathname)) {
    const leadsTo = await pages.match(url.pathname);
    return leadsTo && pages.match(await leadsTo.text());
  }
  return (await pages.match(request)) || pages.match(request, { ignoreSearch: true });
}

/* ---------- a page from then says so: its age on top, and beside each state of a machine ---------- */

const AS_OF = '<div id="as-of" class="as-of" role="status" hidden></div>';
const THEN = '<span class="then" data-then hidden></span>';

function clock(moment) {
  const time = moment.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  const isToday = moment.toDateString() === new Date().toDateString();
  const day = moment.toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short" });
  return isToday ? time : `${day}, ${time}`;
}

async function fromThen(old) {
  const when = clock(new Date(old.headers.get("Date")));
  return changed(old, `As of ${when}, not reached since.`, (html) =>
    html
      .replace("<body ", "<body data-from-then ")
      .replaceAll(THEN, `<span class="then">as of ${when}; it may have changed</span>`),
  );
}

async function notKept(waiting) {
  return changed(waiting, "There is no network, and the page asked for is not kept on this device.", (html) => html);
}

async function changed(old, words, change) {
  const html = change(await old.text()).replace(
    AS_OF,
    `<div id="as-of" class="as-of" role="status">${words} <a href="">Try again</a></div>`,
  );
  const headers = new Headers(old.headers);
  for (const name of ["Content-Length", "Content-Encoding"]) headers.delete(name);
  return new Response(html, { status: old.status, headers });
}

const later = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

async function page(event) {
  const { request } = event;
  const fetched = fetch(request).then((response) => {
    if (isKept(new URL(request.url))) event.waitUntil(keep(request.url, response.clone()));
    return response;
  });
  fetched.catch(() => {});
  const old = await kept(request);
  try {
    const first = await (old ? Promise.race([fetched, later(MOST_PATIENCE_MS)]) : fetched);
    return first || fromThen(old);
  } catch {
    const pages = await caches.open(PAGES);
    const waiting = await pages.match(WAITING);
    // What waits on this device is told by the device: it has no age.
    if (new URL(request.url).pathname === WAITING && waiting) return waiting;
    if (old) return fromThen(old);
    return waiting ? notKept(waiting) : Response.error();
  }
}

async function file(event) {
  const { request } = event;
  const files = await caches.open(FILES);
  const old = await files.match(request);
  const fetched = fetch(request).then((response) => {
    if (response.ok) event.waitUntil(files.put(request, response.clone()));
    return response;
  });
  fetched.catch(() => {});
  try {
    return (await (old ? Promise.race([fetched, later(MOST_PATIENCE_MS)]) : fetched)) || old;
  } catch {
    return old || Response.error();
  }
}

self.addEventListener("install", (event) => {
  self.skipWaiting();
  event.waitUntil(caches.open(FILES).then((files) => files.addAll(MADE_OF)));
});
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("message", (event) => {
  if (event.data.keep) event.waitUntil(keepAll(event.data.keep));
});
self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (url.origin !== self.location.origin) return;
  // Whoever signs out leaves no pages behind for the next person.
  if (event.request.method === "POST" && SIGN_OUTS.includes(url.pathname)) event.waitUntil(caches.delete(PAGES));
  if (event.request.method !== "GET") return;
  if (event.request.mode === "navigate") event.respondWith(page(event));
  else if (url.pathname.startsWith(STATIC)) event.respondWith(file(event));
});
