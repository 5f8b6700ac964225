{% load static %}// Without a connection a page that was asked for is answered by the offline page. Nothing else is kept on the
// phone, so that nothing is left behind on it after signing out.
"use strict";

const KEPT = "offline-1";
const OFFLINE = "{% url 'offline' %}";
const STYLE = "{% static 'desk/desk.css' %}";

self.addEventListener("install", (event) => event.waitUntil((async () => {
  const kept = await caches.open(KEPT);
  await kept.addAll([new Request(OFFLINE, { credentials: "omit" }), STYLE]); // nobody's name in the kept page
  await self.skipWaiting();
})()));

self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  if (event.request.method !== "GET") return;
  const path = new URL(event.request.url).pathname;
  if (event.request.mode === "navigate") {
    event.respondWith(fetch(event.request).catch(() => caches.match(OFFLINE)));
  } else if (path === STYLE) {
    event.respondWith(fetch(event.request).catch(() => caches.match(STYLE)));
  }
});
