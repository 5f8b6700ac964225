{% load static %}// Where there is no signal. Pages a hand needs on the dock are kept as they were last seen, and say how old they
// are; what was entered there is kept and sent later, each once: a deed carries a name of its own, and the site
// does what it knows already only once. Signing out takes the kept pages off the phone.
"use strict";

const FIXED = "fixed-3";
const PAGES = "pages-2";
const OFFLINE = "{% url 'offline' %}";
const STYLE = "{% static 'desk/desk.css' %}";
const OUT = "{% url 'logout' %}";
const IN = "{% url 'login' %}";
const KEPT = /^\/(rounds\/.*|looks\/|hand-over\/|berths\/[^/]+\/|stays\/\d+\/(card\/|made-fast\/)?)?$/;
const LATER = /^\/(rounds\/\d+\/[^/]+\/|looks\/\d+\/done\/|stays\/\d+\/made-fast\/)$/;
const MOST_PAGES = 80;
const FRESH = 10 * 60 * 1000; // a kept page younger than this is not fetched ahead again

self.addEventListener("install", (event) => event.waitUntil((async () => {
  const kept = await caches.open(FIXED);
  await kept.addAll([new Request(OFFLINE, { credentials: "omit" }), STYLE]); // nobody's name in the kept page
  await self.skipWaiting();
})()));

self.addEventListener("activate", (event) => event.waitUntil((async () => {
  for (const name of await caches.keys()) if (![FIXED, PAGES].includes(name)) await caches.delete(name);
  await self.clients.claim();
})()));

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { pathname: path, origin } = new URL(request.url);
  if (origin !== self.location.origin) return;
  if (request.method === "POST" && request.mode === "navigate") {
    if (path === OUT || path === IN) event.waitUntil(caches.delete(PAGES));
    else if (LATER.test(path)) event.respondWith(sendOrKeep(request, path));
  } else if (request.method === "GET" && request.mode === "navigate") {
    event.respondWith(page(request, path, event));
  } else if (request.method === "GET" && path.startsWith("/static/")) {
    event.respondWith(part(request, event));
  }
});

// --- pages ---

async function page(request, path, event) {
  try {
    const answer = await fetch(request);
    if (KEPT.test(path) && answer.ok && !answer.redirected) event.waitUntil(keep(path, answer.clone()));
    return answer;
  } catch {
    const kept = await (await caches.open(PAGES)).match(path);
    return kept ? told(kept, `No signal. This page is as it was at ${when(kept)}.`) : caches.match(OFFLINE);
  }
}

async function keep(path, answer) {
  const pages = await caches.open(PAGES);
  const headers = new Headers(answer.headers);
  headers.set("x-kept", Date.now());
  await pages.put(path, new Response(await answer.blob(), { status: answer.status, headers }));
  const known = await pages.keys();
  for (const old of known.slice(0, Math.max(0, known.length - MOST_PAGES))) await pages.delete(old);
}

async function part(request, event) {
  try {
    const answer = await fetch(request);
    if (answer.ok) event.waitUntil(caches.open(FIXED).then((fixed) => fixed.put(request, answer.clone())));
    return answer;
  } catch (fault) {
    const kept = await caches.match(request, { ignoreVary: true });
    if (kept) return kept;
    throw fault;
  }
}

const when = (answer) => {
  const at = new Date(answer.headers.get("date") || Date.now());
  return at.toLocaleString(undefined, { weekday: "short", hour: "2-digit", minute: "2-digit", hour12: false });
};

async function told(answer, words) {
  const text = await answer.text();
  const said = text.replace(/(<main[^>]*>)/, `$1<p class="wrong" role="status">${words}</p>`);
  return new Response(said, { headers: { "content-type": "text/html; charset=utf-8" } });
}

// --- what is sent later ---

const store = (mode, step) => new Promise((done, failed) => {
  const asked = indexedDB.open("later", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("deeds", { keyPath: "id" });
  asked.onerror = () => failed(asked.error);
  asked.onsuccess = () => {
    const way = asked.result.transaction("deeds", mode);
    const result = step(way.objectStore("deeds"));
    way.oncomplete = () => { asked.result.close(); done(result.result); };
    way.onabort = way.onerror = () => failed(way.error);
  };
});

async function sendOrKeep(request, path) {
  const copy = request.clone();
  try {
    return await fetch(request);
  } catch {
    const fields = [...(await copy.formData()).entries()].filter(([, value]) => !(value instanceof File) || value.size);
    const of = (name) => fields.find(([key]) => key === name)?.[1] || "";
    await store("readwrite", (deeds) => deeds.put({
      id: of("client_id") || crypto.randomUUID(), path, fields, who: of("who"), what: of("what"), since: Date.now(),
    }));
    const next = of("next");
    const kept = next && await (await caches.open(PAGES)).match(next);
    const words = "No signal: what you entered is kept on this phone, and goes as soon as there is one.";
    const link = next && kept ? ` <a class="step" href="${encodeURI(next)}">On to the next berth</a>` : "";
    return told(await caches.match(OFFLINE), words + link);
  }
}

let sending = Promise.resolve();
self.addEventListener("message", (event) => {
  const { ask, token, who, id } = event.data || {};
  if (ask === "keep") event.waitUntil(fetchAhead(event.data.paths));
  if (ask === "drop") event.waitUntil(store("readwrite", (deeds) => deeds.delete(id)).then(() => tell(who, 0)));
  if (ask === "send") event.waitUntil(sending = sending.then(() => sendAll(token, who)).catch(() => tell(who, 0)));
});

async function fetchAhead(paths) {
  const pages = await caches.open(PAGES);
  for (const path of paths.slice(0, 40)) {
    if (!KEPT.test(path) || await isFresh(pages, path)) continue;
    const answer = await fetch(path, { credentials: "same-origin" });
    if (!answer.ok || answer.redirected) continue;
    await keep(path, answer.clone());
    await keepStyles(await answer.text());
  }
}

async function isFresh(pages, path) {
  const kept = await pages.match(path);
  return kept && Date.now() - (Number(kept.headers.get("x-kept")) || 0) < FRESH;
}

// A page that was fetched ahead must look as it should, though nobody has opened one of its kind yet.
async function keepStyles(text) {
  const fixed = await caches.open(FIXED);
  for (const [, href] of text.matchAll(/<link rel="stylesheet" href="(\/static\/[^"]+)"/g))
    if (!await fixed.match(href, { ignoreVary: true })) await fixed.add(href);
}

async function sendAll(token, who) {
  let sent = 0;
  for (const deed of await store("readonly", (deeds) => deeds.getAll())) {
    if (deed.refused || deed.who !== who) continue;
    const body = new FormData();
    for (const [name, value] of deed.fields) body.append(name, name === "csrfmiddlewaretoken" ? token : value);
    body.append("late", Math.round((Date.now() - deed.since) / 1000));
    const answer = await fetch(deed.path, { method: "POST", body, credentials: "same-origin" });
    if (answer.redirected && new URL(answer.url).pathname === IN) break; // signed out: it waits
    if (answer.ok) { await store("readwrite", (deeds) => deeds.delete(deed.id)); sent += 1; }
    else if (answer.status < 500) await store("readwrite", (deeds) => deeds.put({ ...deed, refused: answer.status }));
  }
  await tell(who, sent);
}

async function tell(who, sent) {
  const rows = await store("readonly", (deeds) => deeds.getAll());
  const brief = rows.map(({ fields, ...row }) => ({
    ...row, mine: row.who === who,
    fields: fields.filter(([name, value]) => value && !(value instanceof File) && !["csrfmiddlewaretoken", "client_id", "who", "what", "next"].includes(name)),
  }));
  for (const client of await self.clients.matchAll()) client.postMessage({ sent, waiting: brief });
}
