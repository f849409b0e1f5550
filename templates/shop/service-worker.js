{% load static %}// Answers for the site while there is no network: pages opened before, and what they are made of.
"use strict";

const PAGES = "pages";
const FILES = "files";
const MOST_PATIENCE_MS = 5000;
const STILL_FRESH_MS = 600000;
const WAITING = "{% url 'shop:waiting' %}";
const SIGN_OUT = "{% url 'shop:sign_out' %}";
const STATIC = "{% get_static_prefix %}";
const KEPT = {{ kept_pages|safe }}.map((pattern) => new RegExp(pattern));
const SHORT = /^\/m\/[^/]+\/$/;
const MADE_OF = [
  "{% static 'shop/sweepbook.css' %}",
  "{% static 'shop/sweepbook.js' %}",
  "{% static 'shop/queue.js' %}",
  "{% static 'django_htmx/htmx-2.min.js' %}",
  "{% static 'shop/favicon.svg' %}",
  "{% static 'shop/mark.svg' %}",
  "{% static 'machines/teeth.js' %}",
  "{% static 'machines/belt.js' %}",
  "{% static 'alignment/log.js' %}",
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

async function isFresh(address) {
  const pages = await caches.open(PAGES);
  const old = await pages.match(address);
  return old && Date.now() - Date.parse(old.headers.get("Date")) < STILL_FRESH_MS;
}

// Pages that stand ready before they are opened; a short address remembers where it leads.
async function keepAll({ addresses, short, leadsTo }) {
  if (short) {
    const pages = await caches.open(PAGES);
    await pages.put(short, new Response(leadsTo));
  }
  for (const address of addresses) {
    if (await isFresh(address)) continue;
    try {
      await keep(address, await fetch(address, { credentials: "same-origin" }));
    } catch {
      return;
    }
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
    return first || old;
  } catch {
    const pages = await caches.open(PAGES);
    return old || (await pages.match(WAITING)) || Response.error();
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
  if (event.request.method === "POST" && url.pathname === SIGN_OUT) event.waitUntil(caches.delete(PAGES));
  if (event.request.method !== "GET") return;
  if (event.request.mode === "navigate") event.respondWith(page(event));
  else if (url.pathname.startsWith(STATIC)) event.respondWith(file(event));
});
