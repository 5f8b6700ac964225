// What htmx leaves unsaid: an answer that could not be shown, or no answer at all, is told in words.
"use strict";

const say = (words) => {
  const place = document.getElementById("told");
  if (place) { place.textContent = words; place.hidden = !words; }
};

document.addEventListener("htmx:beforeRequest", () => say(""));
document.addEventListener("htmx:sendError", () =>
  say("No answer from the harbour's site: nothing was changed. What you typed is still here; try again."));
document.addEventListener("htmx:responseError", (event) => {
  const status = event.detail.xhr.status;
  say(status === 403
    ? "This is not yours to do: nothing was changed. Ask the harbour office."
    : `The site could not do this (answer ${status}): nothing was changed. Load the page again and look.`);
});

// Browsers allow it on https and on this machine itself only; elsewhere the browser's own page says the same.
if ("serviceWorker" in navigator) navigator.serviceWorker.register("/sw.js");
